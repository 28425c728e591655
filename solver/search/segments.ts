/**
 * How the minutes of a set are reached, as stretches that may overlap: `from`..`to` (both included), an index and a value,
 * whose meaning is the owner's. Grows when it must, which is rare.
 */
export class Segments {
  count = 0;
  private data = new Int32Array(4 * 64);

  clear(): void {
    this.count = 0;
  }

  push(from: number, to: number, index: number, value: number): void {
    if (from > to) return;
    const at = this.count * 4;
    if (at === this.data.length) this.grow();
    this.data[at] = from;
    this.data[at + 1] = to;
    this.data[at + 2] = index;
    this.data[at + 3] = value;
    this.count++;
  }

  has(n: number, minute: number): boolean {
    return this.data[4 * n]! <= minute && minute <= this.data[4 * n + 1]!;
  }

  index(n: number): number {
    return this.data[4 * n + 2]!;
  }

  value(n: number): number {
    return this.data[4 * n + 3]!;
  }

  private grow(): void {
    const wider = new Int32Array(2 * this.data.length);
    wider.set(this.data);
    this.data = wider;
  }
}
