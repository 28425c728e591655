/** A seeded generator of pseudo-random numbers: the only randomness in the solver. */
export interface Rng {
  /** 0 .. 2^32 - 1. */
  uint32(): number;
  /** 0 .. n - 1, for n up to 2^32. */
  below(n: number): number;
  /** 0 <= x < 1. */
  unit(): number;
  /** Another generator, independent of this one's further course. */
  split(): Rng;
}

function splitMix(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x9e3779b9) >>> 0;
    let z = state;
    z = Math.imul(z ^ (z >>> 16), 0x85ebca6b);
    z = Math.imul(z ^ (z >>> 13), 0xc2b2ae35);
    return (z ^ (z >>> 16)) >>> 0;
  };
}

/**
 * xoshiro128** 1.1 (Blackman & Vigna, "Scrambled linear pseudorandom number generators", 2021), its state filled from the
 * seed by a 32-bit mixer.
 */
export function createRng(seed: number): Rng {
  const fill = splitMix(seed);
  return fromState(fill(), fill(), fill(), fill());
}

/** The generator at a given state; not all zero. */
export function fromState(s0: number, s1: number, s2: number, s3: number): Rng {
  let a = s0 | 0;
  let b = s1 | 0;
  let c = s2 | 0;
  let d = s3 | 0;
  const uint32 = (): number => {
    const scrambled = Math.imul(b, 5);
    const result = Math.imul((scrambled << 7) | (scrambled >>> 25), 9) >>> 0;
    const t = b << 9;
    c ^= a;
    d ^= b;
    b ^= c;
    a ^= d;
    c ^= t;
    d = (d << 11) | (d >>> 21);
    return result;
  };
  return {
    uint32,
    below: (n) => Math.floor((uint32() / 4294967296) * n),
    unit: () => uint32() / 4294967296,
    split: () => createRng(uint32()),
  };
}
