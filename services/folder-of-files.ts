import { randomBytes } from "node:crypto";
import { mkdir, readdir, readFile, rename, rm, writeFile } from "node:fs/promises";
import { dirname, join } from "node:path";

/** Lists what an earlier run wrote, so that the next run replaces exactly that. */
const LIST = ".deckshelf-files.json";

/** The folder is not empty and not ours. */
export class NotOurFolder extends Error {}

async function earlierFiles(folder: string): Promise<string[] | null> {
  const names = await readdir(folder).catch((error: NodeJS.ErrnoException) => {
    if (error.code === "ENOENT") return null;
    throw error;
  });
  if (names === null || names.length === 0) return [];
  if (!names.includes(LIST)) return null;
  const listed = JSON.parse(await readFile(join(folder, LIST), "utf8")) as unknown;
  return Array.isArray(listed) ? listed.filter((name): name is string => typeof name === "string") : [];
}

/**
 * Fills a folder with files, all or none: they are written beside it first. A folder that holds anything else is refused; files of an earlier run
 * are replaced.
 */
export async function writeFolder(folder: string, files: ReadonlyMap<string, string>): Promise<void> {
  const earlier = await earlierFiles(folder);
  if (earlier === null)
    throw new NotOurFolder(`${folder} holds other files; give an empty folder, or one that an earlier run filled.`);
  const beside = `${folder.replace(/\/+$/, "")}.${randomBytes(6).toString("hex")}.part`;
  try {
    const all = new Map([...files, [LIST, `${JSON.stringify([...files.keys()], null, 2)}\n`]]);
    for (const [name, text] of all) {
      const path = join(beside, name);
      await mkdir(dirname(path), { recursive: true });
      await writeFile(path, text, { encoding: "utf8", flag: "wx" });
    }
    for (const name of earlier) if (!name.includes("..")) await rm(join(folder, name), { force: true });
    for (const name of all.keys()) {
      await mkdir(dirname(join(folder, name)), { recursive: true });
      await rename(join(beside, name), join(folder, name));
    }
  } finally {
    await rm(beside, { recursive: true, force: true });
  }
}
