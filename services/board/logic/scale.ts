import { MINUTE, type Span, TICK_STEPS } from "./clock.js";

/** The part of the day that is on the screen. */
export interface Viewport extends Span {
  readonly widthPx: number;
}

/** The closest look: five minutes across. */
export const LEAST_MS = 5 * MINUTE;

export function xOf(view: Viewport, ms: number): number {
  return ((ms - view.fromMs) / (view.toMs - view.fromMs)) * view.widthPx;
}

export function msAt(view: Viewport, x: number): number {
  return view.fromMs + (x / view.widthPx) * (view.toMs - view.fromMs);
}

/** Keeps a span inside the day, its length first. */
export function within(span: Span, day: Span): Span {
  const length = Math.min(Math.max(span.toMs - span.fromMs, LEAST_MS), day.toMs - day.fromMs);
  const fromMs = Math.min(Math.max(span.fromMs, day.fromMs), day.toMs - length);
  return { fromMs, toMs: fromMs + length };
}

/** Zooms by a factor (below 1: closer) with one instant held where it is. */
export function zoomed(span: Span, factor: number, anchorMs: number, day: Span): Span {
  const length = Math.min(Math.max((span.toMs - span.fromMs) * factor, LEAST_MS), day.toMs - day.fromMs);
  const share = (anchorMs - span.fromMs) / (span.toMs - span.fromMs);
  const fromMs = anchorMs - share * length;
  return within({ fromMs, toMs: fromMs + length }, day);
}

export function panned(span: Span, byMs: number, day: Span): Span {
  return within({ fromMs: span.fromMs + byMs, toMs: span.toMs + byMs }, day);
}

/** The least step between ticks whose labels do not touch. */
export function tickStep(view: Viewport, leastPx = 54): number {
  const perMinute = view.widthPx / ((view.toMs - view.fromMs) / MINUTE);
  return TICK_STEPS.find((step) => step * perMinute >= leastPx) ?? TICK_STEPS[TICK_STEPS.length - 1]!;
}

/** Shows a span with some air around it. */
export function framed(span: Span, day: Span, air = 0.12): Span {
  const pad = Math.max((span.toMs - span.fromMs) * air, 2 * MINUTE);
  return within({ fromMs: span.fromMs - pad, toMs: span.toMs + pad }, day);
}
