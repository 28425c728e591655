import type { Arc, Because } from "./graph.js";

/** Arcs as they are found, in columns: there are several to each task, and they are numbered anew before anybody looks at them. */
export class ArcList {
  readonly from: number[] = [];
  readonly to: number[] = [];
  private readonly after: Arc["after"][] = [];
  private readonly lag: number[] = [];
  private readonly because: Because[] = [];

  add(from: number, to: number, after: Arc["after"], lag: number, because: Because): void {
    this.from.push(from);
    this.to.push(to);
    this.after.push(after);
    this.lag.push(lag);
    this.because.push(because);
  }

  /** With the nodes' places for their numbers, in order of where they lead to, then from. */
  inPlace(place: Int32Array): Arc[] {
    const { from, to, after, lag, because } = this;
    const count = place.length;
    const byFrom = inOrderOf(from, place, null, count);
    const sorted = inOrderOf(to, place, byFrom, count);
    const arcs: Arc[] = [];
    for (const i of sorted)
      arcs.push({
        from: place[from[i]!]!,
        to: place[to[i]!]!,
        after: after[i]!,
        lag: lag[i]!,
        because: because[i]!,
      });
    return arcs;
  }
}

/** Arcs in order of the place of a node of theirs; those of one place in the order given. */
function inOrderOf(nodes: readonly number[], place: Int32Array, order: Int32Array | null, count: number): Int32Array {
  const next = new Int32Array(count + 1);
  for (const node of nodes) next[place[node]! + 1] = next[place[node]! + 1]! + 1;
  for (let n = 0; n < count; n++) next[n + 1] = next[n + 1]! + next[n]!;
  const sorted = new Int32Array(nodes.length);
  for (let k = 0; k < nodes.length; k++) {
    const i = order ? order[k]! : k;
    const at = place[nodes[i]!]!;
    sorted[next[at]!] = i;
    next[at] = next[at]! + 1;
  }
  return sorted;
}
