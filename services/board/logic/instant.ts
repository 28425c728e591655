import type { Deck, Fridge, Oven, PanType, Shelf, TubType } from "../../../schemas/index.js";
import {
  type Layout,
  panItemHeightMm,
  piecesPerPan,
  positionsOnDeck,
  positionsOnShelf,
} from "../../../solver/geometry/index.js";
import { MINUTE, msOf } from "./clock.js";
import { type Outage, outageAt, outagesOf } from "./outages.js";
import type { Plan, PlannedTask } from "./plan.js";

/** A tub or pan that stands somewhere at an instant. */
export interface Standing {
  readonly item: string;
  readonly position: number;
  readonly task: PlannedTask;
  readonly massG: number;
  /** Since when it stands there, and until when. */
  readonly sinceMs: number;
  readonly untilMs: number;
  /** Longer than its route allows by the time it leaves; or heavier than its tub takes. */
  readonly overTime: boolean;
  readonly overMass: boolean;
}

export interface ShelfView {
  readonly shelf: Shelf;
  readonly unit: string;
  readonly layout: Layout;
  readonly kind: "tub" | "pan";
  readonly kindName: string;
  readonly standing: readonly Standing[];
  readonly massG: number;
  readonly outage: Outage | undefined;
}

/** Everything that stands somewhere, by unit; looked up again and again while scrubbing. */
export class Stays {
  private readonly byUnit = new Map<string, { task: PlannedTask; item: string; position: number }[]>();

  constructor(private readonly plan: Plan) {
    for (const task of plan.tasks)
      for (const place of task.task.places ?? []) {
        const own = this.byUnit.get(place.unit);
        const stay = { task, item: place.item, position: place.position };
        if (own) own.push(stay);
        else this.byUnit.set(place.unit, [stay]);
      }
  }

  at(unit: string, ms: number): readonly { task: PlannedTask; item: string; position: number }[] {
    return (this.byUnit.get(unit) ?? []).filter(({ task }) => task.fromMs <= ms && ms < task.toMs);
  }

  any(unit: string): { task: PlannedTask; item: string } | undefined {
    return this.byUnit.get(unit)?.[0];
  }

  highest(unit: string): number {
    return Math.max(0, ...(this.byUnit.get(unit) ?? []).map(({ position }) => position));
  }

  get timetable() {
    return this.plan;
  }
}

interface Kind {
  readonly tub?: TubType;
  readonly pan?: PanType;
}

function kindOf(plan: Plan, stay: { task: PlannedTask; item: string } | undefined): Kind {
  const { panTypes, tubTypes } = plan.day.network;
  const isTub = stay?.task.load?.tubs.some((tub) => tub.id === stay.item) ?? false;
  if (stay && !isTub) {
    const pan = panTypes.find((type) => type.id === stay.task.product?.panType);
    if (pan) return { pan };
  }
  const dough = plan.day.catalogue.doughs.find((candidate) => candidate.id === stay?.task.dough);
  const tub = tubTypes.find((type) => type.id === dough?.tubType) ?? tubTypes[0];
  return tub ? { tub } : {};
}

/**
 * Where a place of a layout is drawn: layouts begin front left, and the front is at the bottom of a picture, as it is on paper. Pieces of a layout on a pan turn with it.
 */
export function drawnY(depthMm: number, place: { readonly yMm: number; readonly depthMm: number }): number {
  return depthMm - place.yMm - place.depthMm;
}

/** Retard limit of the load's route, minutes: the whole time in the cold counts, vans included (D5). */
function isOverTime(plan: Plan, task: PlannedTask): boolean {
  const route = task.product?.routes.find((candidate) => candidate.id === task.load?.route);
  const step = route?.steps.find((candidate) => candidate.does === task.task.does);
  if (!step || !("greatestMinutes" in step)) return false;
  const same = (plan.byLoad.get(task.load!.id) ?? []).filter((other) => other.task.does === task.task.does);
  const minutes =
    (Math.max(...same.map((other) => other.toMs)) - Math.min(...same.map((other) => other.fromMs))) / MINUTE;
  return minutes > step.greatestMinutes;
}

function shelfView(stays: Stays, fridge: Fridge, shelf: Shelf, unit: string, ms: number): ShelfView {
  const plan = stays.timetable;
  const here = stays.at(unit, ms);
  const model = here[0] ?? stays.any(unit);
  const { tub, pan } = kindOf(plan, model);
  const product = model?.task.product;
  const layout = pan
    ? positionsOnShelf(fridge, shelf, {
        kind: "pan",
        panType: pan,
        itemHeightMm: product ? panItemHeightMm(product, pan) : pan.heightMm,
        itemMassG: pan.massG,
      }).layout
    : tub
      ? positionsOnShelf(fridge, shelf, { kind: "tub", tubType: tub, itemMassG: tub.massG }).layout
      : null;
  const standing = here.map(({ task, item, position }): Standing => {
    const load = task.load!;
    const own = load.tubs.find((candidate) => candidate.id === item);
    const pieces = load.pieces / load.pans;
    const massG = own ? own.doughG + (tub?.massG ?? 0) : pieces * (task.product?.pieceG ?? 0) + (pan?.massG ?? 0);
    return {
      item,
      position,
      task,
      massG,
      sinceMs: task.fromMs,
      untilMs: task.toMs,
      overTime: isOverTime(plan, task),
      overMass: own !== undefined && tub !== undefined && own.doughG > tub.maxDoughG,
    };
  });
  return {
    shelf,
    unit,
    layout: layout ?? { count: 0, pattern: "empty", places: [] },
    kind: pan ? "pan" : "tub",
    kindName: pan?.name ?? tub?.name ?? "",
    standing,
    massG: standing.reduce((sum, one) => sum + one.massG, 0),
    outage: outageAt(outagesOf(plan, unit), ms),
  };
}

/** A fridge's shelves at an instant, to scale. */
export function fridgeAt(stays: Stays, site: string, fridge: Fridge, ms: number): ShelfView[] {
  return fridge.shelves.map((shelf) => shelfView(stays, fridge, shelf, `${site}/${fridge.id}/${shelf.id}`, ms));
}

export interface DeckView {
  readonly deck: Deck;
  readonly unit: string;
  readonly layout: Layout;
  readonly pan: PanType | undefined;
  readonly standing: readonly {
    readonly task: PlannedTask;
    readonly item: string;
    readonly position: number;
    readonly pieces: Layout;
    readonly onPan: number;
  }[];
  readonly heat: "off" | "warming" | "hot";
  readonly tempC: number | undefined;
  readonly hotMs: number | undefined;
  readonly outage: Outage | undefined;
}

/** An oven's decks from above at an instant, with the pans and what lies on them, to scale. */
export function ovenAt(stays: Stays, site: string, oven: Oven, ms: number): DeckView[] {
  const plan = stays.timetable;
  const { panTypes } = plan.day.network;
  return oven.decks.map((deck): DeckView => {
    const unit = `${site}/${oven.id}/${deck.id}`;
    const here = stays.at(unit, ms);
    const model = here[0] ?? stays.any(unit);
    const product = model?.task.product;
    const pan = panTypes.find((type) => type.id === product?.panType) ?? panTypes[0];
    const layout = pan
      ? positionsOnDeck(deck, pan, product ? panItemHeightMm(product, pan) : pan.heightMm).layout
      : null;
    const program = plan.timetable.ovenProgram.find((entry) => entry.deck === unit);
    const isOn = program?.on.some((on) => msOf(on.from) <= ms && ms < msOf(on.to)) ?? false;
    const set = isOn ? program!.setpoints.filter((point) => msOf(point.at) <= ms).at(-1) : undefined;
    const hotMs = set ? msOf(set.hotFrom) : undefined;
    return {
      deck,
      unit,
      layout: layout ?? { count: 0, pattern: "empty", places: [] },
      pan,
      standing: here.map(({ task, item, position }) => {
        const onFull = task.product && pan ? piecesPerPan(task.product, pan) : undefined;
        const number = Number(/-(\d+)$/.exec(item)?.[1] ?? 1);
        const full = onFull?.count ?? 0;
        const onPan = Math.max(0, Math.min(full, task.load!.pieces - (number - 1) * full));
        return { task, item, position, pieces: onFull?.layout ?? { count: 0, pattern: "empty", places: [] }, onPan };
      }),
      heat: !isOn ? "off" : hotMs !== undefined && ms < hotMs ? "warming" : "hot",
      tempC: set?.tempC,
      hotMs,
      outage: outageAt(outagesOf(plan, unit), ms),
    };
  });
}
