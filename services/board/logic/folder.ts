import { DAY_FILES, type DayFile, isDayFile, NEEDED } from "../../day-files.js";

/** A file that was chosen; `trouble`: why it could not be read. */
export interface ChosenFile {
  readonly name: string;
  readonly text: string;
  readonly trouble?: string;
}

export interface SortedFiles {
  /** What is taken, and as which file of a day folder. */
  readonly taken: readonly (ChosenFile & { readonly as: DayFile })[];
  /** What is not read, and why. */
  readonly left: readonly { readonly name: string; readonly why: string }[];
}

const BY_FORMAT: Readonly<Record<string, DayFile>> = {
  network: "network.json",
  catalogue: "catalogue.json",
  orders: "orders.json",
  settings: "settings.json",
  happenings: "happenings.json",
};

export const DOCUMENT_WORDS: Readonly<Record<(typeof DAY_FILES)[DayFile], string>> = {
  network: "the network",
  catalogue: "the catalogue",
  orders: "the orders",
  settings: "the settings",
  happenings: "what has happened",
  timetable: "the timetable in force",
};

/** What a file with a name of its own holds, by what it says of itself; also when it is not in order further on. */
function guess({ name, text }: ChosenFile): DayFile | undefined {
  const head = text.slice(0, 2000);
  if (/\.csv$/i.test(name)) return /^\uFEFF?[^\n]*\bid\b[^\n]*\bproduct\b/i.test(head) ? "orders.csv" : undefined;
  return BY_FORMAT[/"format"\s*:\s*"([a-z]+)\/\d+"/.exec(head)?.[1] ?? ""];
}

const NO_PART = "no part of a day";

/** Which file is which: by the names of a day folder first, then by what a file says of itself, the one chosen last first. */
export function sortFiles(chosen: readonly ChosenFile[]): SortedFiles {
  const taken = chosen.flatMap((file) => (isDayFile(file.name) ? [{ ...file, as: file.name }] : []));
  const left: { name: string; why: string }[] = [];
  for (const file of [...chosen].reverse()) {
    if (isDayFile(file.name)) continue;
    const as = guess(file);
    const other = taken.find((one) => as !== undefined && DAY_FILES[one.as] === DAY_FILES[as]);
    if (as === undefined) left.push({ name: file.name, why: file.trouble ?? NO_PART });
    else if (other) left.push({ name: file.name, why: `${other.name} is taken for ${DOCUMENT_WORDS[DAY_FILES[as]]}` });
    else taken.push({ ...file, as });
  }
  const order = Object.keys(DAY_FILES);
  taken.sort((a, b) => order.indexOf(a.as) - order.indexOf(b.as));
  return { taken, left };
}

/** Whether the files are all that a day needs. */
export function isWhole({ taken }: SortedFiles): boolean {
  return NEEDED.every((document) => taken.some(({ as }) => DAY_FILES[as] === document));
}

/** The file that a fault is in; of a document that did not come, the one that should have. */
export function fileOf({ taken }: SortedFiles, document: string | undefined): string {
  // The verifier speaks of the timetable only.
  const named = document ?? "timetable";
  const file = taken.find(({ as }) => DAY_FILES[as] === named);
  return file?.name ?? Object.entries(DAY_FILES).find(([, held]) => held === named)?.[0] ?? named;
}
