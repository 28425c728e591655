import { createReadStream } from "node:fs";
import { createInterface } from "node:readline";
import type { Rng } from "../../solver/rng.js";

/** What a disk is sure to have of a file, and what was written since its last sync: of that a power cut leaves any part. */
interface OnDisk {
  sure: Buffer;
  pending: { readonly offset: number; readonly data: Buffer | undefined }[];
}

const SECTOR = 512;

function written(image: Buffer, offset: number, data: Buffer): Buffer {
  const end = offset + data.length;
  const next = end > image.length ? Buffer.concat([image, Buffer.alloc(end - image.length)]) : Buffer.from(image);
  data.copy(next, offset);
  return next;
}

/** One write of the trace; with no data the file is cut at the offset. */
function put(image: Buffer, { offset, data }: OnDisk["pending"][number]): Buffer {
  return data ? written(image, offset, data) : Buffer.from(image.subarray(0, offset));
}

/** Of what was not synced each sector is there or not, by chance. */
function torn(rng: Rng, { sure, pending }: OnDisk): Buffer {
  let image = sure;
  for (const one of pending) {
    if (!one.data) {
      if (rng.below(2) === 0) image = put(image, one);
      continue;
    }
    for (let at = 0; at < one.data.length; at += SECTOR)
      if (rng.below(2) === 0) image = written(image, one.offset + at, one.data.subarray(at, at + SECTOR));
  }
  return image;
}

function bytesOf(hex: string): Buffer {
  return Buffer.from(hex.replaceAll("\\x", ""), "hex");
}

/**
 * Reads a trace of system calls (strace -f -xx) and knows at any of them what a power cut would leave of the files; what the program said on its standard output is told in between.
 */
export async function replay(
  trace: string,
  on: (said: string, cut: (rng: Rng) => ReadonlyMap<string, Buffer>) => Promise<void>,
): Promise<void> {
  const files = new Map<string, OnDisk>();
  const open = new Map<string, string>();
  const inHand = new Map<string, string>();
  const cut = (rng: Rng): Map<string, Buffer> => new Map([...files].map(([path, one]) => [path, torn(rng, one)]));
  const fileOf = (fd: string): OnDisk | undefined => files.get(open.get(fd) ?? "");
  for await (const line of createInterface({
    input: createReadStream(trace, "latin1"),
    crlfDelay: Number.POSITIVE_INFINITY,
  })) {
    const [, thread, call] = /^(\d+) +(.*)$/.exec(line) ?? [];
    if (thread === undefined || call === undefined) continue;
    // A call that others came between is begun in one line and ended in another; it counts by its end, but for what is only said.
    const resumed = /^<\.\.\. \w+ resumed>(.*)$/.exec(call);
    const whole = resumed ? (inHand.get(thread) ?? "") + resumed[1]! : call;
    const begun = /^(.*) <unfinished \.\.\.>$/.exec(whole);
    if (begun) {
      inHand.set(thread, begun[1]!);
      continue;
    }
    const opened = /^openat\(\S+, "([^"]*)".*= (\d+)$/.exec(whole);
    const write = /^pwrite64\((\d+), "([^"]*)", \d+, (\d+)\) += \d+$/.exec(whole);
    const shorter = /^ftruncate\((\d+), (\d+)\) += 0$/.exec(whole);
    const sync = /^f(?:data)?sync\((\d+)\) += 0$/.exec(whole);
    const said = /^write\(1, "([^"]*)"/.exec(whole);
    if (opened) {
      const path = bytesOf(opened[1]!).toString();
      open.set(opened[2]!, path);
      if (/\.db(-wal)?$/.test(path) && !files.has(path)) files.set(path, { sure: Buffer.alloc(0), pending: [] });
    } else if (write) fileOf(write[1]!)?.pending.push({ offset: Number(write[3]), data: bytesOf(write[2]!) });
    else if (shorter) fileOf(shorter[1]!)?.pending.push({ offset: Number(shorter[2]), data: undefined });
    else if (sync) {
      const file = fileOf(sync[1]!);
      if (file) {
        file.sure = file.pending.reduce(put, file.sure);
        file.pending = [];
      }
    } else if (said) await on(bytesOf(said[1]!).toString(), cut);
  }
}
