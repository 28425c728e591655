import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { followOpenDay } from "./data/live.js";
import { isOnline } from "./data/marks.js";
import { days, firstDay, hasNone, readDays, showDay } from "./data/open-days.js";
import { askWho, mayPlan, signOut, wantsToken, who } from "./data/session.js";
import { BoardError } from "./data/types.js";
import { lastDone, lastUndone, redo, undo } from "./data/undo.js";
import { dayName } from "./logic/new-day.js";
import markUrl from "./mark.svg";
import { BalancePage } from "./pages/balance.js";
import { ColdAndHotPage } from "./pages/cold-and-hot.js";
import { KitchenPage } from "./pages/kitchen.js";
import { OrdersPage } from "./pages/orders.js";
import { SetUpPage } from "./pages/set-up.js";
import { SheetsPage } from "./pages/sheets.js";
import { TodayPage } from "./pages/today.js";
import { WhatIfPage } from "./pages/what-if.js";
import { DeletedNote } from "./parts/deleted-note.js";
import { ImportCard } from "./parts/import-card.js";
import { NewDayDialog } from "./parts/new-day.js";
import { Sign } from "./parts/sign.js";
import { SignIn } from "./parts/sign-in.js";
import { isDark, opened, route, setLight, spoken } from "./state.js";

const PAGES = [
  { at: "today", name: "Today", Page: TodayPage },
  { at: "orders", name: "Orders", Page: OrdersPage },
  { at: "balance", name: "Balance", Page: BalancePage },
  { at: "fridge-and-ovens", name: "Fridge and ovens", Page: ColdAndHotPage },
  { at: "what-if", name: "What if", Page: WhatIfPage },
  { at: "sheets", name: "Sheets", Page: SheetsPage },
  { at: "kitchen", name: "Kitchen", Page: KitchenPage },
  { at: "set-up", name: "Set-up", Page: SetUpPage },
] as const;

function pageOf(hash: string) {
  const name = hash.replace(/^#\//, "").split("/")[0];
  return PAGES.find((page) => page.at === name) ?? PAGES[0];
}

/** A page that hears nothing may show what holds no more; kitchen screens say so beside their marks. */
function Unreachable() {
  if (isOnline.value || !opened.value || pageOf(route.value).at === "kitchen") return null;
  return (
    <p class="note warn" role="status">
      No connection to the server: what others change is not seen here. It is tried again by itself.
    </p>
  );
}

function UndoButtons() {
  const trouble = useSignal("");
  const go = (step: () => Promise<void>): void => {
    trouble.value = "";
    step().catch((error: Error) => {
      trouble.value = error.message;
    });
  };
  const last = lastDone.value;
  const next = lastUndone.value;
  if ((!last && !next) || !mayPlan.value) return null;
  return (
    <span class="undo">
      <button
        type="button"
        class="btn slim"
        disabled={!last}
        title={last ? `Take back: ${last.label}` : ""}
        onClick={() => go(undo)}
      >
        Undo
      </button>
      <button
        type="button"
        class="btn slim"
        disabled={!next}
        title={next ? `Do again: ${next.label}` : ""}
        onClick={() => go(redo)}
      >
        Redo
      </button>
      {trouble.value && (
        <span class="tag alarm" role="alert">
          {trouble.value}
        </span>
      )}
    </span>
  );
}

/** Which day is open, and a way to another one. */
function DayChoice({ onOpen }: { onOpen: (id: string) => void }) {
  const isAsking = useSignal(false);
  const day = opened.value;
  if (!day) return null;
  return (
    <>
      {days.value.length > 1 && (
        <select
          class="entry day-choice"
          aria-label="Day"
          value={day.id}
          onChange={(event) => onOpen(event.currentTarget.value)}
        >
          {days.value.map(({ id }) => (
            <option key={id} value={id}>
              {dayName(id)}
            </option>
          ))}
        </select>
      )}
      {mayPlan.value && (
        <button
          type="button"
          class="btn slim new-day"
          aria-label="New day"
          title="Begin another day of this kitchen"
          onClick={() => {
            isAsking.value = true;
          }}
        >
          <span class="wide">New day</span>
          <span class="narrow" aria-hidden="true">
            +
          </span>
        </button>
      )}
      {isAsking.value && (
        <NewDayDialog
          kitchen={day}
          onClose={() => {
            isAsking.value = false;
          }}
        />
      )}
    </>
  );
}

/** A server without any day: a planner brings the first one. */
function NoDay() {
  return (
    <div class="page">
      <header>
        <h1>No day yet</h1>
        <p>
          {mayPlan.value
            ? "A day is a folder of files: the kitchen, what it makes, the orders, and the time that is planned."
            : "A planner makes one."}
        </p>
      </header>
      {mayPlan.value && <ImportCard day={undefined} />}
    </div>
  );
}

/** The frame of every page: the head, the open day, and what the readers of the screen are told. */
export function App() {
  const trouble = useSignal<BoardError | undefined>(undefined);
  const open = async (id: string): Promise<void> => {
    try {
      await showDay(id);
      trouble.value = undefined;
    } catch (error) {
      trouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
    }
  };
  const begin = async (): Promise<void> => {
    try {
      await askWho();
      if (wantsToken.value) return;
      await readDays();
      const first = firstDay();
      trouble.value = undefined;
      if (first) await open(first.id);
    } catch (error) {
      trouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
    }
  };
  useEffect(() => {
    followOpenDay();
    void begin();
  }, []);
  const { at, Page, name } = pageOf(route.value);
  useEffect(() => {
    document.title = `${name} – Deck & Shelf`;
    document.querySelector('.pages [aria-current="page"]')?.scrollIntoView({ block: "nearest", inline: "nearest" });
  }, [name]);
  // Another page begins at its top, however far down the one before was read.
  useEffect(() => scrollTo(0, 0), [route.value]);
  return (
    <>
      <button type="button" class="btn skip" onClick={() => document.getElementById("main")?.focus()}>
        To the page
      </button>
      <header class="head">
        <a class="wordmark" href="#/today">
          <img src={markUrl} alt="" width="26" height="26" />
          Deck &amp; Shelf
        </a>
        <nav class="pages" aria-label="Pages">
          {PAGES.map((page) => (
            <a key={page.at} href={`#/${page.at}`} aria-current={page.at === at ? "page" : undefined}>
              {page.name}
            </a>
          ))}
        </nav>
        <div class="head-end">
          <UndoButtons />
          <DayChoice onOpen={(id) => void open(id)} />
          {who.value?.you && who.value.you !== "local" && (
            <button
              type="button"
              class="btn slim bare"
              title={`${who.value.you}, ${who.value.role}`}
              onClick={() => void signOut()}
            >
              Sign out
            </button>
          )}
          <button
            type="button"
            class="btn bare square"
            aria-label={isDark.value ? "Light colours" : "Dark colours"}
            title={isDark.value ? "Light colours" : "Dark colours"}
            onClick={() => setLight(isDark.value ? "light" : "dark")}
          >
            <Sign name={isDark.value ? "sun" : "moon"} />
          </button>
        </div>
      </header>
      <main id="main" tabIndex={-1}>
        <DeletedNote />
        <Unreachable />
        {wantsToken.value ? (
          <SignIn onIn={() => void begin()} />
        ) : trouble.value ? (
          <div class="waiting" role="alert">
            <p class="note alarm">
              <b>{trouble.value.message}</b> {trouble.value.fix}
            </p>
            <p>
              <button type="button" class="btn" onClick={() => void begin()}>
                Try again
              </button>
            </p>
          </div>
        ) : opened.value ? (
          // Nothing that is typed for one day is carried into another.
          <Page key={opened.value.id} />
        ) : hasNone.value ? (
          <NoDay />
        ) : (
          <p class="waiting">Opening the day…</p>
        )}
      </main>
      <div class="unseen" aria-live="polite">
        {spoken.value}
      </div>
    </>
  );
}
