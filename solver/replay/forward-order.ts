/** What waits for what: from nodes to nodes. */
interface Leads {
  readonly from: readonly number[];
  readonly to: readonly number[];
}

/** An order in which every arc leads forward; planned starts first among those that are free. */
export function forwardOrder(planned: readonly { readonly start: number }[], arcs: Leads): number[] {
  const count = planned.length;
  // Arcs by the node that they lead from, those of one in their order: [first[n], first[n + 1]).
  const first = new Int32Array(count + 1);
  const waiting = new Int32Array(count);
  for (const from of arcs.from) first[from + 1] = first[from + 1]! + 1;
  for (const to of arcs.to) waiting[to] = waiting[to]! + 1;
  for (let n = 0; n < count; n++) first[n + 1] = first[n + 1]! + first[n]!;
  const targets = new Int32Array(arcs.to.length);
  const filled = first.slice();
  for (let i = 0; i < targets.length; i++) {
    const from = arcs.from[i]!;
    targets[filled[from]!] = arcs.to[i]!;
    filled[from] = filled[from]! + 1;
  }
  const ready: number[] = [];
  for (let n = count - 1; n >= 0; n--) if (waiting[n] === 0) ready.push(n);
  ready.sort((a, b) => planned[b]!.start - planned[a]!.start || b - a);
  const order: number[] = [];
  while (ready.length > 0) {
    const n = ready.pop()!;
    order.push(n);
    for (let i = first[n]!; i < first[n + 1]!; i++) {
      const to = targets[i]!;
      waiting[to] = waiting[to]! - 1;
      if (waiting[to] === 0) ready.push(to);
    }
  }
  return order;
}
