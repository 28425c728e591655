import { useSignal } from "@preact/signals";
import type { DayDocuments } from "../../../schemas/index.js";
import { allUnits, type Edit } from "../logic/scenario.js";

const KINDS: readonly { kind: Edit["kind"]; text: string }[] = [
  { kind: "orders", text: "more or fewer orders" },
  { kind: "unit-out", text: "without a unit" },
  { kind: "unit-more", text: "one more unit" },
  { kind: "people", text: "more or fewer people" },
  { kind: "earlier", text: "a shift begins earlier" },
  { kind: "van", text: "one more van run" },
];

interface Props {
  readonly documents: DayDocuments;
  readonly onAdd: (edit: Edit) => void;
  readonly onLeave: () => void;
}

/** What to imagine otherwise, as a form. */
export function EditForm({ documents, onAdd, onLeave }: Props) {
  const { network, catalogue } = documents;
  const kind = useSignal<Edit["kind"]>("orders");
  const factor = useSignal(1.3);
  const site = useSignal("");
  const product = useSignal("");
  const units = allUnits(documents);
  const unit = useSignal(units.find((one) => one.ref.split("/").length === 3)?.ref ?? units[0]?.ref ?? "");
  const crews = network.sites.flatMap((one) =>
    one.crew.map((group) => ({ ref: `${one.id}/${group.id}`, name: `${group.name}, ${one.name}` })),
  );
  const crew = useSignal(crews[0]?.ref ?? "");
  const heads = useSignal(1);
  const minutes = useSignal(60);
  const run = useSignal(network.vanRuns[0]?.id ?? "");
  const departs = useSignal("06:00");
  const edit = (): Edit => {
    const [crewSite, crewId] = crew.value.split("/");
    switch (kind.value) {
      case "orders":
        return {
          kind: "orders",
          factor: factor.value,
          ...(site.value ? { site: site.value } : {}),
          ...(product.value ? { product: product.value } : {}),
        };
      case "unit-out":
      case "unit-more":
        return { kind: kind.value, unit: unit.value };
      case "people":
        return { kind: "people", site: crewSite!, crew: crewId!, heads: heads.value };
      case "earlier":
        return { kind: "earlier", site: crewSite!, crew: crewId!, minutes: minutes.value };
      default:
        return { kind: "van", run: run.value, departs: departs.value };
    }
  };
  const isUnit = kind.value === "unit-out" || kind.value === "unit-more";
  return (
    <form
      class="edit-form"
      onSubmit={(event) => {
        event.preventDefault();
        onAdd(edit());
      }}
    >
      <label class="field">
        Imagine
        <select
          value={kind.value}
          onChange={(event) => {
            kind.value = event.currentTarget.value as Edit["kind"];
          }}
        >
          {KINDS.map((one) => (
            <option key={one.kind} value={one.kind}>
              {one.text}
            </option>
          ))}
        </select>
      </label>
      {kind.value === "orders" && (
        <>
          <label class="field">
            Times
            <input
              type="number"
              min={0.05}
              max={20}
              step="any"
              required
              value={factor.value}
              onInput={(event) => {
                factor.value = Number(event.currentTarget.value);
              }}
            />
          </label>
          <label class="field">
            For
            <select
              value={site.value}
              onChange={(event) => {
                site.value = event.currentTarget.value;
              }}
            >
              <option value="">every site</option>
              {network.sites.map((one) => (
                <option key={one.id} value={one.id}>
                  {one.name}
                </option>
              ))}
            </select>
          </label>
          <label class="field">
            Product
            <select
              value={product.value}
              onChange={(event) => {
                product.value = event.currentTarget.value;
              }}
            >
              <option value="">every product</option>
              {catalogue.products.map((one) => (
                <option key={one.id} value={one.id}>
                  {one.name}
                </option>
              ))}
            </select>
          </label>
        </>
      )}
      {isUnit && (
        <label class="field">
          {kind.value === "unit-out" ? "Without" : "One more like"}
          <select
            value={unit.value}
            onChange={(event) => {
              unit.value = event.currentTarget.value;
            }}
          >
            {units.map((one) => (
              <option key={one.ref} value={one.ref}>
                {one.name}
              </option>
            ))}
          </select>
        </label>
      )}
      {(kind.value === "people" || kind.value === "earlier") && (
        <label class="field">
          Crew
          <select
            value={crew.value}
            onChange={(event) => {
              crew.value = event.currentTarget.value;
            }}
          >
            {crews.map((one) => (
              <option key={one.ref} value={one.ref}>
                {one.name}
              </option>
            ))}
          </select>
        </label>
      )}
      {kind.value === "people" && (
        <label class="field">
          People more (− for fewer)
          <input
            type="number"
            min={-50}
            max={50}
            step={1}
            required
            value={heads.value}
            onInput={(event) => {
              heads.value = Number(event.currentTarget.value);
            }}
          />
        </label>
      )}
      {kind.value === "earlier" && (
        <label class="field">
          Minutes earlier
          <input
            type="number"
            min={5}
            max={600}
            step={5}
            required
            value={minutes.value}
            onInput={(event) => {
              minutes.value = Number(event.currentTarget.value);
            }}
          />
        </label>
      )}
      {kind.value === "van" && (
        <>
          <label class="field">
            Like
            <select
              value={run.value}
              onChange={(event) => {
                run.value = event.currentTarget.value;
              }}
            >
              {network.vanRuns.map((one) => (
                <option key={one.id} value={one.id}>
                  {one.name}
                </option>
              ))}
            </select>
          </label>
          <label class="field">
            Leaving at
            <input
              required
              pattern="([01]\d|2[0-3]):[0-5]\d"
              value={departs.value}
              onInput={(event) => {
                departs.value = event.currentTarget.value;
              }}
            />
          </label>
        </>
      )}
      <div class="move-do">
        <button type="submit" class="btn slim main">
          Add
        </button>
        <button type="button" class="btn slim" onClick={onLeave}>
          Leave
        </button>
      </div>
    </form>
  );
}
