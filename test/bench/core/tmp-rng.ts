export function createRng(seed: number) {
  let a = seed >>> 0;
  const uint32 = (): number => { a = (a + 0x6d2b79f5) | 0; let t = Math.imul(a ^ (a >>> 15), 1 | a); t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t; return (t ^ (t >>> 14)) >>> 0; };
  return { uint32, below: (n: number): number => Math.floor((uint32() / 4294967296) * n), unit: (): number => uint32() / 4294967296, split: (): never => { throw new Error(); } };
}
