import { mayPin, setPins } from "../data/pins.js";
import { neighbour } from "../logic/keys.js";
import { canPin } from "../logic/pins.js";
import { plan, spoken } from "../state.js";
import { sayTask } from "./say.js";
import {
  bringIntoView,
  frameWay,
  laid,
  pan,
  picked,
  pickedLoad,
  pickedTask,
  showNow,
  showWhole,
  zoom,
} from "./view.js";

/** Picks a task, brings it into view and says it. */
export function pick(id: string | undefined): void {
  picked.value = id;
  const current = plan.value;
  const task = current?.byId.get(id ?? "");
  if (!current || !task) return;
  bringIntoView(task);
  spoken.value = sayTask(current, task.id);
}

/** Pins the picked task or lets it go; not while a proposal or a search is looked at. */
function togglePin(): void {
  const task = pickedTask.value;
  if (!task || !mayPin.value || !canPin(task)) return;
  void setPins([task.id], !plan.value!.pins.has(task.id));
}

/** Scrolls just enough that the picked task's row is on the screen. */
function scrollToPicked(box: HTMLElement): void {
  const task = pickedTask.value;
  if (!task) return;
  const row = laid.value.rows.find(
    ({ row }) =>
      row.bars.some((bar) => bar.task?.id === task.id) ||
      task.task.places?.some((p) => p.unit === row.id || p.unit.startsWith(`${row.id}/`)),
  );
  if (!row) return;
  if (row.top < box.scrollTop) box.scrollTop = row.top - 40;
  else if (row.top + row.height > box.scrollTop + box.clientHeight)
    box.scrollTop = row.top + row.height - box.clientHeight + 40;
}

const ARROWS: Record<string, "left" | "right" | "up" | "down"> = {
  ArrowLeft: "left",
  ArrowRight: "right",
  ArrowUp: "up",
  ArrowDown: "down",
};

/** What a key does while the picture has the focus; false for keys that it leaves alone. */
export function onPictureKey(event: KeyboardEvent, box: HTMLElement): boolean {
  const current = plan.value;
  if (!current || event.ctrlKey || event.metaKey || event.altKey) return false;
  const arrow = ARROWS[event.key];
  if (arrow && event.shiftKey) {
    if (arrow === "left" || arrow === "right") pan(arrow === "left" ? -0.2 : 0.2);
    else box.scrollTop += arrow === "up" ? -120 : 120;
  } else if (arrow) {
    const next = neighbour(laid.value.rows, current.tasks, pickedTask.value, arrow);
    if (next) pick(next.id);
    scrollToPicked(box);
  } else if (event.key === "+" || event.key === "=") zoom(0.6);
  else if (event.key === "-") zoom(1 / 0.6);
  else if (event.key === "0") showWhole();
  else if (event.key === "n") showNow();
  else if (event.key === "p") togglePin();
  else if (event.key === "w" && pickedLoad.value) frameWay(pickedLoad.value);
  else if (event.key === "Escape") pick(undefined);
  else if (event.key === "Enter") document.querySelector<HTMLElement>("[data-side]")?.focus();
  else return false;
  return true;
}
