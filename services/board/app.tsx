import { useSignal, useSignalEffect } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { listDays, openDay } from "./data/days.js";
import { resumeDrawing } from "./data/drawing.js";
import { followOpenDay } from "./data/live.js";
import { discard } from "./data/proposal.js";
import { askWho, signOut, wantsToken, who } from "./data/session.js";
import { BoardError, type DayRecord } from "./data/types.js";
import { done, redo, undo, undone } from "./data/undo.js";
import markUrl from "./mark.svg";
import { BalancePage } from "./pages/balance.js";
import { ColdAndHotPage } from "./pages/cold-and-hot.js";
import { KitchenPage } from "./pages/kitchen.js";
import { OrdersPage } from "./pages/orders.js";
import { SetUpPage } from "./pages/set-up.js";
import { SheetsPage } from "./pages/sheets.js";
import { TodayPage } from "./pages/today.js";
import { WhatIfPage } from "./pages/what-if.js";
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

const LAST_DAY = "deck-and-shelf.day";

function pageOf(hash: string) {
  const name = hash.replace(/^#\//, "").split("/")[0];
  return PAGES.find((page) => page.at === name) ?? PAGES[0];
}

/** The day to open first: the one that was open last, else the one whose timetable changed last. */
function firstDay(days: readonly DayRecord[]): DayRecord | undefined {
  const last = days.find((day) => day.id === localStorage.getItem(LAST_DAY));
  const byChange = [...days].sort(
    (a, b) =>
      Number(b.versions.timetable !== undefined) - Number(a.versions.timetable !== undefined) ||
      b.changedAt.localeCompare(a.changedAt),
  );
  return last ?? byChange[0];
}

function UndoButtons() {
  const trouble = useSignal("");
  const go = (step: () => Promise<void>): void => {
    trouble.value = "";
    step().catch((error: Error) => {
      trouble.value = error.message;
    });
  };
  const last = done.value.at(-1);
  const next = undone.value.at(-1);
  if (!last && !next) return null;
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

/** The frame of every page: the head, the open day, and what the readers of the screen are told. */
export function App() {
  const trouble = useSignal<BoardError | undefined>(undefined);
  const days = useSignal<readonly DayRecord[]>([]);
  useSignalEffect(() => {
    document.documentElement.dataset.light = isDark.value ? "dark" : "light";
  });
  const open = async (id: string): Promise<void> => {
    try {
      opened.value = await openDay(id);
      localStorage.setItem(LAST_DAY, id);
      discard();
      trouble.value = undefined;
      void resumeDrawing();
    } catch (error) {
      trouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
    }
  };
  const begin = async (): Promise<void> => {
    try {
      await askWho();
      if (wantsToken.value) return;
      days.value = await listDays();
      const first = firstDay(days.value);
      if (first) await open(first.id);
      else
        trouble.value = new BoardError(
          "The server has no day yet.",
          "Make one through the API, or start with the demo data.",
        );
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
          {days.value.length > 1 && (
            <select
              class="entry day-choice"
              aria-label="Day"
              value={opened.value?.id ?? ""}
              onChange={(event) => void open(event.currentTarget.value)}
            >
              {days.value.map((day) => (
                <option key={day.id} value={day.id}>
                  {day.id.replace(/-/g, " ")}
                </option>
              ))}
            </select>
          )}
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
          <Page />
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
