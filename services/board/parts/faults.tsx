import type { BoardError } from "../data/types.js";

const MOST = 12;

/** What was wrong, where, and what would mend it; every one, up to a dozen. */
export function Faults({ error }: { error: BoardError }) {
  const shown = error.faults.slice(0, MOST);
  return (
    <div class="note alarm" role="alert">
      <b>{error.message}</b> {error.fix}
      {shown.length > 0 && (
        <ul class="faults">
          {shown.map((fault) => (
            <li key={`${fault.line} ${fault.pointer} ${fault.detail}`}>
              <span class="tag">
                {fault.line === undefined
                  ? `${fault.document ?? ""} ${fault.pointer ?? ""}`
                  : `line ${fault.line}${fault.column ? `, column ${fault.column}` : ""}`}
              </span>{" "}
              {fault.detail} {fault.fix && <span class="quiet">{fault.fix}</span>}
            </li>
          ))}
          {error.faults.length > MOST && <li>and {error.faults.length - MOST} more</li>}
        </ul>
      )}
    </div>
  );
}
