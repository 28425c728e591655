import { useComputed, useSignal } from "@preact/signals";
import { CAUTIONS, type Caution, COMES_FIRST } from "../../../solver/trade/cautions.js";
import { dropMark, isOnline, mark, takeBack, taskStates, toldMarks, waitingMarks } from "../data/marks.js";
import { mayMark } from "../data/session.js";
import { asMarked } from "../logic/as-marked.js";
import { dayText, hhmm, instantText, MINUTE, msOf } from "../logic/clock.js";
import { cardsOf, outOfOrderAt } from "../logic/kitchen.js";
import { boardOf, type CardState, countdown } from "../logic/kitchen-board.js";
import { outageText } from "../logic/outages.js";
import { unitName, zoneOf } from "../logic/plan.js";
import type { Card } from "../logic/station-card.js";
import { type Station, stationsOf } from "../logic/stations.js";
import { THROWN } from "../logic/trouble.js";
import { TroubleDialog, troubleFor } from "../parts/trouble.js";
import { forcePlan, isPrinting, nowMs, route, spoken } from "../state.js";

const KIND_ORDER = ["mixer", "fridge", "bench", "proofer", "kettle", "oven", "rack", "van"] as const;
const KIND_WORDS: Readonly<Record<Station["kind"], string>> = {
  mixer: "Mixing",
  fridge: "Fridge",
  bench: "Bench",
  proofer: "Proofing",
  kettle: "Kettle",
  oven: "Oven",
  rack: "Cooling",
  van: "Vans",
};

const CAUTIONS_OF: Readonly<Partial<Record<Station["kind"], readonly Caution[]>>> = {
  mixer: ["mixer", "lifting", "raw-flour"],
  kettle: ["boiling-water"],
  oven: ["hot-decks"],
  fridge: ["cold-chain"],
  bench: ["raw-flour", "allergen-order"],
};

function Choice() {
  const current = forcePlan.value!;
  return (
    <div class="page">
      <header>
        <h1>Which station is this screen for?</h1>
        <p>The choice is part of the address: keep it as a bookmark on the tablet that hangs there.</p>
      </header>
      {current.day.network.sites.map((site) => (
        <section key={site.id} class="card station-site">
          <h2>{site.name}</h2>
          <div class="station-choices">
            {stationsOf(site)
              .sort((a, b) => KIND_ORDER.indexOf(a.kind) - KIND_ORDER.indexOf(b.kind))
              .map((station) => (
                <a key={station.id} class="station-choice" href={`#/kitchen/${station.id}`}>
                  <span class="quiet small">{KIND_WORDS[station.kind]}</span>
                  <b>{station.name}</b>
                </a>
              ))}
          </div>
        </section>
      ))}
    </div>
  );
}

function say(card: Card, kind: "started" | "finished", zone: string): void {
  const at = instantText(zone, Math.floor(nowMs.value / MINUTE) * MINUTE);
  mark({ what: kind, task: card.task!, at });
  spoken.value = `${card.verb} ${card.what}: ${kind}.`;
}

function sayThrown(card: Card, zone: string): void {
  const at = instantText(zone, Math.floor(nowMs.value / MINUTE) * MINUTE);
  mark({ what: "trouble", task: card.discards!, at, note: THROWN });
  spoken.value = `${card.what}: ${THROWN}.`;
}

function BigCard({ card, state, zone, siteId }: { card: Card; state: CardState; zone: string; siteId: string }) {
  const now = nowMs.value;
  const isStarted = state === "started";
  const target = isStarted ? card.toMs : card.fromMs;
  const { text, isOver } = countdown(target, now);
  return (
    <li class={`big-card ${isStarted ? "is-started" : ""} ${isOver ? "is-over" : ""}`}>
      <div class="big-text">
        <p class="big-verb">{card.verb}</p>
        <p class="big-what">{card.what}</p>
        <p class="big-where">{[card.where, ...card.details.slice(0, 8)].filter((part) => part !== "").join(" · ")}</p>
        {(card.cautions ?? []).map((caution) => (
          <p key={caution} class="big-caution">
            {CAUTIONS[caution]}
          </p>
        ))}
        {card.allergens.length > 0 && <p class="big-allergens">Contains {card.allergens.join(", ")}</p>}
      </div>
      <div class="big-time">
        <b class="big-clock">{hhmm(zone, target)}</b>
        <span class={`big-count ${isOver ? "over" : ""}`}>{isStarted ? (isOver ? text : `done ${text}`) : text}</span>
      </div>
      {card.discards && mayMark(siteId) && (
        <div class="big-do">
          <button type="button" class="thumb done" onClick={() => sayThrown(card, zone)}>
            Thrown away
          </button>
        </div>
      )}
      {card.task && mayMark(siteId) && (
        <div class="big-do">
          {isStarted ? (
            <button type="button" class="thumb done" onClick={() => say(card, "finished", zone)}>
              Finished
            </button>
          ) : (
            <button type="button" class="thumb go" onClick={() => say(card, "started", zone)}>
              Started
            </button>
          )}
          <button
            type="button"
            class="thumb odd"
            onClick={() => {
              troubleFor.value = { card, isStarted };
            }}
          >
            Trouble
          </button>
        </div>
      )}
    </li>
  );
}

function Line({ card, zone }: { card: Card; zone: string }) {
  return (
    <li class="next-line">
      <b class="next-time">{hhmm(zone, card.fromMs)}</b>
      <span class="next-what">
        <b>{card.verb}</b> {card.what}
        <span class="quiet"> {card.where}</span>
      </span>
      <span class="next-in">{countdown(card.fromMs, nowMs.value).text}</span>
    </li>
  );
}

function LinkState() {
  const waiting = waitingMarks.value.filter((item) => item.refusal === undefined).length;
  const refused = waitingMarks.value.filter((item) => item.refusal !== undefined);
  return (
    <div class="link-state" role="status">
      {waiting === 0 && isOnline.value && <span class="tag good">connected</span>}
      {!isOnline.value && <span class="tag warn">no connection</span>}
      {waiting > 0 && (
        <span class="tag warn">
          {waiting} {waiting === 1 ? "mark waits" : "marks wait"} to be sent
        </span>
      )}
      {refused.map((item) => (
        <span key={item.key} class="tag alarm">
          Not taken: {item.refusal}{" "}
          <button type="button" class="btn slim" onClick={() => dropMark(item.key)}>
            Seen
          </button>
        </span>
      ))}
    </div>
  );
}

/** What of the station does not work, or will not, as it was told: by the planner, or by a mark that is not worked in yet. */
function OutOfOrder({ station, zone }: { station: Station; zone: string }) {
  const current = forcePlan.value!;
  const now = nowMs.value;
  const told = toldMarks.value.flatMap(({ happening }) => (happening ? [happening] : []));
  const outages = outOfOrderAt(current, station, told, now);
  if (outages.length === 0) return null;
  return (
    <ul class="note alarm out-of-order" aria-label="Out of order">
      {outages.map((outage) => (
        <li key={`${outage.unit} ${outage.fromMs} ${outage.toMs}`}>
          <b>{unitName(current, outage.unit)}</b> is {outageText(zone, outage, now)}.
        </li>
      ))}
    </ul>
  );
}

/** What was marked last at this station, which may have been a slip of the thumb. */
function LastMark({ cards, site, zone }: { cards: readonly Card[]; site: string; zone: string }) {
  const failed = useSignal("");
  const about = new Map(cards.flatMap((card) => [card.task, card.discards].map((task) => [task, card] as const)));
  const last = toldMarks.value.findLast(({ task }) => about.has(task));
  const card = last && about.get(last.task);
  if (!last || !card || !mayMark(site)) return null;
  const undo = async (): Promise<void> => {
    failed.value = "";
    try {
      await takeBack(last);
      spoken.value = "Taken back.";
    } catch (error) {
      failed.value = (error as Error).message;
    }
  };
  return (
    <p class="last-mark">
      <span>
        <span class="quiet">Marked last:</span> {card.verb.toLowerCase()} {card.what},{" "}
        <b>{last.what === "trouble" ? (last.note ?? "trouble") : last.what}</b> {hhmm(zone, msOf(last.at))}
      </span>{" "}
      <button type="button" class="btn" onClick={() => void undo()}>
        Take back
      </button>
      {failed.value !== "" && (
        <span class="tag alarm" role="alert">
          Not taken back: {failed.value}
        </span>
      )}
    </p>
  );
}

function Screen({ station }: { station: Station }) {
  const missedOpen = useSignal(false);
  const current = forcePlan.value!;
  const zone = zoneOf(current, station.site);
  const cards = useComputed(() => (forcePlan.value ? cardsOf(forcePlan.value, station) : []));
  const board = boardOf(
    asMarked(current, cards.value, toldMarks.value, taskStates.value),
    taskStates.value,
    nowMs.value,
  );
  const most = isPrinting.value ? Number.POSITIVE_INFINITY : 12;
  const now = board.now.length > 0 ? board.now : board.next.slice(0, 1);
  const next = board.now.length > 0 ? board.next : board.next.slice(1);
  const shown = now.slice(0, most);
  // Of lye the cards tell which load or bath it is; over them it stands only as long as none of them does.
  const meetsLye = (some: readonly Card[]): boolean => some.some(({ cautions }) => cautions?.includes("lye"));
  const cautions: readonly Caution[] = [
    ...(CAUTIONS_OF[station.kind] ?? []),
    ...(meetsLye(cards.value) && !meetsLye(shown) ? (["lye"] as const) : []),
  ];
  return (
    <div class="kitchen">
      <header class="kitchen-head">
        <div>
          <h1>{station.name}</h1>
          <p class="quiet">
            {current.sites.get(station.site)?.name} · <a href="#/kitchen">other station</a>
          </p>
        </div>
        <LinkState />
        <p class="kitchen-clock">
          <b>{hhmm(zone, nowMs.value)}</b>
          <span class="quiet">{dayText(zone, nowMs.value)}</span>
        </p>
      </header>
      {cautions.length > 0 && (
        <p class="kitchen-caution">
          {cautions.map((caution) => CAUTIONS[caution]).join(" ")} {COMES_FIRST}
        </p>
      )}
      {!mayMark(station.site) && (
        <p class="look-only quiet small">You may look only; a token of this station's site marks what is done.</p>
      )}
      <OutOfOrder station={station} zone={zone} />
      {now.length === 0 && next.length === 0 && <p class="note good">Nothing more to do here today.</p>}
      <ul class="big-cards" aria-label="Now">
        {shown.map((card) => (
          <BigCard
            key={card.id}
            card={card}
            zone={zone}
            siteId={station.site}
            state={(card.task && taskStates.value.get(card.task)) || "waiting"}
          />
        ))}
      </ul>
      <LastMark cards={cards.value} site={station.site} zone={zone} />
      {next.length > 0 && (
        <section aria-label="Next" class="card next">
          <h2>Next</h2>
          <ul>
            {next.slice(0, most).map((card) => (
              <Line key={card.id} card={card} zone={zone} />
            ))}
          </ul>
          {next.length > most && <p class="quiet">and {next.length - most} later</p>}
        </section>
      )}
      {board.missed.length > 0 && (
        <section class="card next">
          <button
            type="button"
            class="btn"
            aria-expanded={missedOpen.value}
            onClick={() => {
              missedOpen.value = !missedOpen.value;
            }}
          >
            Earlier and never marked: {board.missed.length}
          </button>
          {(missedOpen.value || isPrinting.value) && (
            <ul>
              {board.missed.map((card) => (
                <li key={card.id} class="next-line">
                  <b class="next-time">{hhmm(zone, card.fromMs)}</b>
                  <span class="next-what">
                    <b>{card.verb}</b> {card.what}
                  </span>
                  {mayMark(station.site) && (
                    <button
                      type="button"
                      class="btn"
                      onClick={() => (card.discards ? sayThrown(card, zone) : say(card, "finished", zone))}
                    >
                      {card.discards ? "Thrown away" : "Finished"}
                    </button>
                  )}
                </li>
              ))}
            </ul>
          )}
        </section>
      )}
      <TroubleDialog zone={zone} />
    </div>
  );
}

/** The screen that hangs at one station: what is now, what is next, three big buttons. */
export function KitchenPage() {
  const current = forcePlan.value;
  if (!current)
    return <p class="waiting">There is no timetable to work by yet. The planner draws one up under Today.</p>;
  const id = route.value.replace(/^#\/kitchen\/?/, "");
  const station = current.day.network.sites
    .flatMap(stationsOf)
    .find((candidate) => candidate.id === decodeURIComponent(id));
  return station ? <Screen key={station.id} station={station} /> : <Choice />;
}
