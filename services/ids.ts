import { randomBytes } from "node:crypto";

const DIGITS = "0123456789abcdefghjkmnpqrstvwxyz";

function base32(value: bigint, length: number): string {
  let text = "";
  for (let rest = value, i = 0; i < length; i++, rest >>= 5n) text = DIGITS[Number(rest & 31n)] + text;
  return text;
}

/** A new id: 10 digits of time, so that keys sort by age, and 16 of chance (80 bits), so that none comes twice even when a clock jumps back. */
export function newId(): string {
  return base32(BigInt(Date.now()), 10) + base32(BigInt(`0x${randomBytes(10).toString("hex")}`), 16);
}
