import { strToU8, unzipSync, zipSync } from "fflate";

/** Of one file inside, and of all together; a few kilobytes can claim to be terabytes. */
const MOST_BYTES = 64 * 1024 * 1024;

/** Files in one zip, in a folder of this name: unpacked it is a day folder. `changedAt`: the time that they bear. */
export function zipOf(files: ReadonlyMap<string, string>, folder: string, changedAt: Date): Uint8Array<ArrayBuffer> {
  const entries = Object.fromEntries([...files].map(([name, text]) => [`${folder}/${name}`, strToU8(text)]));
  return zipSync(entries, { level: 6, mtime: changedAt }) as Uint8Array<ArrayBuffer>;
}

export interface Unzipped {
  readonly name: string;
  readonly bytes: Uint8Array;
}

/** Files that stand in a zip itself, or in a folder in it, by name; what is deeper, or some program's own, is not read. Throws what a person can read. */
export function filesInZip(bytes: Uint8Array): Unzipped[] {
  let sum = 0;
  let isLarge = false;
  const isWanted = (path: string): boolean => {
    const parts = path.split("/");
    return parts.length <= 2 && !parts.some((part) => part === "" || part.startsWith(".") || part.startsWith("__"));
  };
  let found: Record<string, Uint8Array>;
  try {
    found = unzipSync(bytes, {
      filter: ({ name, originalSize }) => {
        if (!isWanted(name)) return false;
        sum += originalSize;
        isLarge ||= sum > MOST_BYTES;
        return !isLarge;
      },
    });
  } catch {
    throw new Error("cannot be unpacked; it is damaged, locked, or no zip file");
  }
  if (isLarge) throw new Error("holds more than 64 MB");
  return Object.entries(found).map(([path, content]) => ({ name: path.split("/").at(-1)!, bytes: content }));
}
