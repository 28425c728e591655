import { useEffect, useRef } from "preact/hooks";
import type { BoardError, Fault } from "../data/types.js";

/** As many as the server lists. */
const MOST = 200;

function byFile(faults: readonly Fault[]): Map<string, Fault[]> {
  const files = new Map<string, Fault[]>();
  for (const fault of faults) files.set(fault.file ?? "", [...(files.get(fault.file ?? "") ?? []), fault]);
  return files;
}

function placeOf({ line, column, pointer }: Fault): string {
  if (line !== undefined) return `line ${line}${column === undefined ? "" : `, column ${column}`}`;
  return pointer ?? "";
}

/** Everything that is wrong in files, file by file: where, what, and what would mend it. */
export function FileFaults({ error }: { error: BoardError }) {
  const box = useRef<HTMLDivElement>(null);
  useEffect(() => box.current?.scrollIntoView({ block: "nearest" }), [error]);
  return (
    <div ref={box} class="note alarm file-faults" role="alert">
      <p>
        <b>{error.message}</b> {error.fix}
      </p>
      {[...byFile(error.faults)].map(([file, faults]) => (
        <section key={file}>
          <h3>
            {file} <span class="quiet">{faults.length}</span>
          </h3>
          <ul class="faults">
            {faults.map((fault) => (
              <li key={`${placeOf(fault)} ${fault.detail}`}>
                {placeOf(fault) !== "" && <span class="tag">{placeOf(fault)}</span>} {fault.detail}{" "}
                {fault.fix && <span class="quiet">{fault.fix}</span>}
              </li>
            ))}
          </ul>
        </section>
      ))}
      {error.faults.length === MOST && <p>The first {MOST} are listed.</p>}
    </div>
  );
}
