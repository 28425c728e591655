/**
 * Memory that the threads of one run share: the thread that bounds writes the best bound, those that search read it. The bound goes with the fingerprint of
 * the problem that it holds for.
 */
export class BoundBoard {
  private readonly cells: BigInt64Array;

  constructor(readonly memory: SharedArrayBuffer = new SharedArrayBuffer(16)) {
    this.cells = new BigInt64Array(memory);
  }

  write(fingerprint: number, bound: number): void {
    // Rounded down: a bound must not grow on its way. 0 says that there is none.
    Atomics.store(this.cells, 0, BigInt(fingerprint));
    Atomics.store(this.cells, 1, BigInt(Math.floor(bound * SCALE)) + 1n);
  }

  /** The bound, if there is one for that problem. */
  read(fingerprint: number): number | undefined {
    const value = Atomics.load(this.cells, 1);
    if (value === 0n || Atomics.load(this.cells, 0) !== BigInt(fingerprint)) return undefined;
    return Number(value - 1n) / SCALE;
  }
}

/** Millionths. */
const SCALE = 1e6;
