import { useSignal } from "@preact/signals";
import { render } from "preact";
import { useEffect, useMemo, useRef } from "preact/hooks";
import { SHEET_KINDS, type Sheet, type SheetKind, sheetsOf } from "../../../solver/sheets/index.js";
import { layOut } from "../../sheets/html.js";
import { PAGE_WIDTH_MM } from "../../sheets/measure.js";
import { STYLE } from "../../sheets/style.js";
import { SheetPages } from "../parts/sheet-pages.js";
import { forcePlan } from "../state.js";

const KIND_NAMES: Readonly<Record<SheetKind, string>> = {
  orders: "Order status",
  purchase: "What to buy",
  pull: "What to fetch",
  mixer: "Mixers",
  mix: "Mixing, batch by batch",
  "shelf-map": "Shelf map",
  labels: "Labels",
  log: "Log of measured values",
  bench: "Bench",
  proof: "Proofing",
  kettle: "Kettle",
  oven: "Oven",
  rack: "Racks and packing",
  van: "Vans",
  crew: "Crew",
  cost: "Cost",
};

const PAPER_CSS = STYLE.replaceAll("$WIDTH", `${PAGE_WIDTH_MM}mm`);

/** The pages in a tree of their own, with the style sheet of the printed sheets and no other. */
function Paper({ sheets }: { sheets: readonly Sheet[] }) {
  const host = useRef<HTMLDivElement>(null);
  const plan = forcePlan.value!;
  const pages = useMemo(
    () => layOut(plan.day, plan.timetable, sheets, plan.day.settings.paper ?? "a4"),
    [plan, sheets],
  );
  useEffect(() => {
    const element = host.current!;
    const root = element.shadowRoot ?? element.attachShadow({ mode: "open" });
    if (root.adoptedStyleSheets.length === 0) {
      const style = new CSSStyleSheet();
      style.replaceSync(
        `${PAPER_CSS}:host{color:#000;background:#fff;font-family:"Liberation Sans",Arial,Helvetica,sans-serif;line-height:1.22}`,
      );
      root.adoptedStyleSheets = [style];
    }
    render(<SheetPages day={plan.day} timetable={plan.timetable} pages={pages} />, root);
  }, [pages]);
  return <div class="paper" ref={host} />;
}

/** Every sheet of the timetable in force, as it is printed: one page each where it fits. */
export function SheetsPage() {
  const plan = forcePlan.value;
  const site = useSignal("");
  const kind = useSignal<SheetKind | "">("");
  const one = useSignal("");
  const all = useMemo(() => (plan ? sheetsOf(plan.day, plan.timetable) : []), [plan]);
  if (!plan) return <p class="waiting">There is no timetable yet. Draw one up under Today.</p>;
  const siteId = site.value || plan.day.network.sites[0]!.id;
  const ofSite = all.filter((sheet) => sheet.site === siteId);
  const kinds = SHEET_KINDS.filter((candidate) => ofSite.some((sheet) => sheet.kind === candidate));
  const chosenKind =
    kind.value !== "" && kinds.includes(kind.value) ? kind.value : kinds.includes("oven") ? "oven" : kinds[0];
  const ofKind = ofSite.filter((sheet) => sheet.kind === chosenKind);
  const shown = ofKind.some((sheet) => sheet.id === one.value)
    ? ofKind.filter((sheet) => sheet.id === one.value)
    : ofKind;
  const isTitled = new Set(ofKind.map((sheet) => sheet.title)).size === ofKind.length;
  return (
    <div class="page sheets">
      <header class="no-print">
        <h1>Sheets</h1>
        <p>As they are printed, for the timetable in force.</p>
        <div class="order-do">
          <button type="button" class="btn main" onClick={() => print()}>
            Print {shown.length === 1 ? "this sheet" : `these ${shown.length} sheets`}
          </button>
        </div>
      </header>
      <div class="sheet-columns">
        <nav class="card sheet-choice no-print" aria-label="Sheets">
          <fieldset class="fates">
            <legend class="unseen">Site</legend>
            {plan.day.network.sites.map((candidate) => (
              <button
                key={candidate.id}
                type="button"
                class="btn slim"
                aria-pressed={candidate.id === siteId}
                onClick={() => {
                  site.value = candidate.id;
                  one.value = "";
                }}
              >
                {candidate.name}
              </button>
            ))}
          </fieldset>
          <ul>
            {kinds.map((candidate) => (
              <li key={candidate}>
                <button
                  type="button"
                  class="tree-item depth-0"
                  aria-current={candidate === chosenKind ? "true" : undefined}
                  onClick={() => {
                    kind.value = candidate;
                    one.value = "";
                  }}
                >
                  {KIND_NAMES[candidate]}{" "}
                  <span class="quiet">{ofSite.filter((sheet) => sheet.kind === candidate).length}</span>
                </button>
                {candidate === chosenKind && ofKind.length > 1 && (
                  <ul>
                    {ofKind.map((sheet) => (
                      <li key={sheet.id}>
                        <button
                          type="button"
                          class="tree-item depth-1"
                          aria-current={sheet.id === one.value ? "true" : undefined}
                          onClick={() => {
                            one.value = sheet.id === one.value ? "" : sheet.id;
                          }}
                        >
                          {isTitled ? sheet.title : sheet.subtitle}
                        </button>
                      </li>
                    ))}
                  </ul>
                )}
              </li>
            ))}
          </ul>
        </nav>
        {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolled region must be reachable by keyboard */}
        <section class="sheet-view" tabIndex={0} aria-label={chosenKind ? KIND_NAMES[chosenKind] : "Sheets"}>
          <Paper sheets={shown} />
        </section>
      </div>
    </div>
  );
}
