/** Gives the person at the screen a file; by its name JSON or CSV. */
export function download(name: string, text: string): void {
  const address = URL.createObjectURL(
    new Blob([text], { type: name.endsWith(".csv") ? "text/csv" : "application/json" }),
  );
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}
