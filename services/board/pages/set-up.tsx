import { useSignal } from "@preact/signals";
import { useEffect, useMemo } from "preact/hooks";
import { setUpDraft } from "../data/drafts.js";
import { mayPlan } from "../data/session.js";
import { BoardError } from "../data/types.js";
import { commit } from "../data/undo.js";
import { emptyOf, type Path, resolve, schemaOf, valueAt, withValue } from "../logic/schema-form.js";
import { type Place, placeOf, placesOf } from "../logic/setup-tree.js";
import { DeleteDayDialog } from "../parts/delete-day.js";
import { DraftBar } from "../parts/draft-bar.js";
import { ExportChoice } from "../parts/export-choice.js";
import { Faults } from "../parts/faults.js";
import { HistoryCard } from "../parts/history-card.js";
import { ImportCard } from "../parts/import-card.js";
import { LayoutPictures } from "../parts/layout-picture.js";
import { LookOnly } from "../parts/look-only.js";
import { SchemaForm } from "../parts/schema-form.js";
import { opened, spoken } from "../state.js";

function resolvedOf(place: Place) {
  if (place.definition === "Ingredients") {
    const catalogue = schemaOf("catalogue", "Catalogue");
    return resolve(catalogue.schema.properties!.ingredients!, catalogue.root);
  }
  return schemaOf(place.document, place.definition);
}

/** The network, the catalogue and the day's settings as forms made from their schemas, with layouts to scale. */
export function SetUpPage() {
  const day = opened.value!;
  const draft = setUpDraft(day.id);
  const chosen = useSignal("settings ");
  const find = useSignal("");
  const trouble = useSignal<BoardError | undefined>(undefined);
  const saving = useSignal(false);
  const isImporting = useSignal(false);
  const isDeleting = useSignal(false);
  useEffect(() => {
    // Before anything can be dropped there is something that takes it.
    const onDragEnter = (event: DragEvent): void => {
      if (event.dataTransfer?.types.includes("Files") && mayPlan.value) isImporting.value = true;
    };
    addEventListener("dragenter", onDragEnter);
    return () => removeEventListener("dragenter", onDragEnter);
  }, []);
  const documents = { ...day.documents, ...(draft.value as object) } as typeof day.documents;
  const places = placesOf(documents);
  const place = places.find((one) => one.key === chosen.value) ?? places[0]!;
  const faults = useMemo(
    () =>
      new Map(
        (trouble.value?.faults ?? [])
          .filter((fault) => fault.document === undefined || fault.document === place.document)
          .map((fault) => [fault.pointer ?? "", `${fault.detail} ${fault.fix ?? ""}`]),
      ),
    [trouble.value, place.document],
  );
  const names = <T extends { id: string; name: string }>(items: readonly T[]) =>
    items.map(({ id, name }) => ({ id, name }));
  const skills = [
    ...new Set(documents.network.sites.flatMap((site) => site.crew.flatMap((group) => group.skills))),
  ].map((id) => ({ id, name: id }));
  const choices = {
    dough: names(documents.catalogue.doughs),
    panType: names(documents.network.panTypes),
    tubType: names(documents.network.tubTypes),
    ingredient: names(documents.catalogue.ingredients),
    allergens: names(documents.catalogue.allergens),
    skill: skills,
    mixSkill: skills,
    from: [] as { id: string; name: string }[],
    handOvers: [
      { id: "tubs", name: "as chilled tubs" },
      { id: "pans", name: "as chilled pans" },
      { id: "baked", name: "baked" },
    ],
  };
  const { from: _, ...plainChoices } = choices;
  const siteChoices =
    place.definition === "VanRun" ? { from: names(documents.network.sites), to: names(documents.network.sites) } : {};
  const change = (path: Path, value: unknown): void => {
    draft.value = { ...draft.value, [place.document]: withValue(documents[place.document], path, value) };
  };
  const addLike = (): void => {
    if (!place.list) return;
    const list = valueAt(documents[place.document], place.list) as { id: string; name: string }[];
    const own = valueAt(documents[place.document], place.path) as { id: string; name: string } | undefined;
    const taken = new Set(list.map((one) => one.id));
    let n = list.length + 1;
    const stem = (own?.id ?? "new").replace(/-\d+$/, "");
    while (taken.has(`${stem}-${n}`)) n++;
    const fresh = {
      ...(own ?? (emptyOf(resolvedOf(place)) as object)),
      id: `${stem}-${n}`,
      name: `${own?.name ?? "New"} ${n}`,
    };
    change(place.list, [...list, fresh]);
    chosen.value = `${place.document} ${[...place.list, list.length].join("/")}`;
  };
  const remove = (): void => {
    if (!place.list) return;
    const list = valueAt(documents[place.document], place.list) as unknown[];
    change(
      place.list,
      list.filter((_, i) => i !== place.path.at(-1)),
    );
    chosen.value = "settings ";
  };
  const save = async (): Promise<void> => {
    saving.value = true;
    try {
      await commit(
        day,
        draft.value as Partial<typeof day.documents>,
        `set-up changed: ${Object.keys(draft.value).join(", ")}`,
      );
      draft.value = {};
      trouble.value = undefined;
      spoken.value = "Saved.";
    } catch (error) {
      trouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
      const first = trouble.value.faults[0];
      const at = first ? placeOf(places, first.document ?? place.document, first.pointer ?? "") : undefined;
      if (at) chosen.value = at.key;
    } finally {
      saving.value = false;
    }
  };
  const isDirty = Object.keys(draft.value).length > 0;
  const shown = places.filter((one) => one.name.toLowerCase().includes(find.value.toLowerCase()));
  return (
    <div class="page set-up">
      <header>
        <h1>Set-up</h1>
        <p>Forms follow the documents' schemas; the server checks all of them together when you save.</p>
        <div class="order-do">
          {mayPlan.value && (
            <button
              type="button"
              class="btn"
              aria-expanded={isImporting.value}
              onClick={() => {
                isImporting.value = !isImporting.value;
              }}
            >
              Import files
            </button>
          )}
          <LookOnly does="changes the set-up" />
          <ExportChoice day={day} />
          {mayPlan.value && (
            <button
              type="button"
              class="btn"
              onClick={() => {
                isDeleting.value = true;
              }}
            >
              Delete this day
            </button>
          )}
        </div>
      </header>
      {isDeleting.value && (
        <DeleteDayDialog
          day={day}
          onClose={() => {
            isDeleting.value = false;
          }}
        />
      )}
      {isImporting.value && <ImportCard day={day} />}
      {trouble.value && <Faults error={trouble.value} />}
      {isDirty && (
        <DraftBar
          text={Object.keys(draft.value).join(", ")}
          save="Check and save"
          isSaving={saving.value}
          onSave={() => void save()}
          onDrop={() => {
            draft.value = {};
            trouble.value = undefined;
          }}
        />
      )}
      <div class="set-up-columns">
        <nav class="card set-up-tree" aria-label="What to set up">
          <input
            class="entry"
            type="search"
            placeholder="Find"
            aria-label="Find"
            value={find.value}
            onInput={(event) => {
              find.value = event.currentTarget.value;
            }}
          />
          <ul>
            {shown.map((one) => (
              <li key={one.key}>
                <button
                  type="button"
                  class={`tree-item depth-${one.depth}`}
                  aria-current={one.key === place.key ? "true" : undefined}
                  onClick={() => {
                    chosen.value = one.key;
                  }}
                >
                  {one.name}
                </button>
              </li>
            ))}
          </ul>
        </nav>
        <section class="card set-up-form" aria-label={place.name}>
          <div class="side-title">
            <h2>{place.name}</h2>
            {place.list && mayPlan.value && (
              <div class="move-do">
                <button type="button" class="btn slim" onClick={addLike}>
                  One more like this
                </button>
                <button type="button" class="btn slim" onClick={remove}>
                  Take it away
                </button>
              </div>
            )}
          </div>
          <LayoutPictures
            definition={place.definition}
            value={valueAt(documents[place.document], place.path)}
            network={documents.network}
            products={documents.catalogue.products}
          />
          <fieldset class="sf-all" disabled={!mayPlan.value}>
            <SchemaForm
              key={place.key}
              resolved={resolvedOf(place)}
              value={valueAt(documents[place.document], place.path)}
              path={place.path}
              onChange={change}
              faults={faults}
              choices={{ ...plainChoices, ...siteChoices }}
              leaveOut={new Set(place.leaveOut)}
            />
          </fieldset>
        </section>
      </div>
      <HistoryCard />
    </div>
  );
}
