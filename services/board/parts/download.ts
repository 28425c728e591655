const TYPES: Readonly<Record<string, string>> = { csv: "text/csv", zip: "application/zip" };

/** Gives the person at the screen a file; by its name JSON, CSV or zip. */
export function download(name: string, content: string | Uint8Array<ArrayBuffer>): void {
  const type = TYPES[name.split(".").at(-1)!] ?? "application/json";
  const address = URL.createObjectURL(new Blob([content], { type }));
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}
