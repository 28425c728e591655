import { useSignal, useSignalEffect } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { listDays, openDay } from "./data/days.js";
import { BoardError, type DayRecord } from "./data/types.js";
import markUrl from "./mark.svg";
import { ColdAndHotPage } from "./pages/cold-and-hot.js";
import { KitchenPage } from "./pages/kitchen.js";
import { OrdersPage } from "./pages/orders.js";
import { SetUpPage } from "./pages/set-up.js";
import { TodayPage } from "./pages/today.js";
import { WhatIfPage } from "./pages/what-if.js";
import { Sign } from "./parts/sign.js";
import { isDark, opened, route, setLight, spoken } from "./state.js";

const PAGES = [
  { at: "today", name: "Today", Page: TodayPage },
  { at: "orders", name: "Orders", Page: OrdersPage },
  { at: "fridge-and-ovens", name: "Fridge and ovens", Page: ColdAndHotPage },
  { at: "what-if", name: "What if", Page: WhatIfPage },
  { at: "kitchen", name: "Kitchen", Page: KitchenPage },
  { at: "set-up", name: "Set-up", Page: SetUpPage },
] as const;

function pageOf(hash: string) {
  const name = hash.replace(/^#\//, "").split("/")[0];
  return PAGES.find((page) => page.at === name) ?? PAGES[0];
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
      trouble.value = undefined;
    } catch (error) {
      trouble.value = error instanceof BoardError ? error : new BoardError((error as Error).message);
    }
  };
  useEffect(() => {
    listDays().then(
      (found) => {
        days.value = found;
        if (found[0]) void open(found[0].id);
      },
      (error: BoardError) => {
        trouble.value = error;
      },
    );
  }, []);
  const { at, Page, name } = pageOf(route.value);
  useEffect(() => {
    document.title = `${name} – Deck & Shelf`;
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
        {trouble.value ? (
          <div class="waiting" role="alert">
            <p class="note alarm">
              <b>{trouble.value.message}</b> {trouble.value.fix}
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
