/** Which rows of a long list are on the screen, with a few more above and below. */
export interface RowsWindow {
  readonly first: number;
  readonly last: number;
  readonly abovePx: number;
  readonly belowPx: number;
}

export function rowsWindow(count: number, rowPx: number, scrollTop: number, heightPx: number, more = 8): RowsWindow {
  const first = Math.max(0, Math.min(count, Math.floor(scrollTop / rowPx) - more));
  const last = Math.min(count, Math.ceil((scrollTop + heightPx) / rowPx) + more);
  return { first, last, abovePx: first * rowPx, belowPx: (count - last) * rowPx };
}
