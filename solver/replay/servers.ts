/** A person or a place at a bench, and what had it last. */
export interface Server {
  until: number;
  n: number;
}

/** So many servers at most that are free by a minute, those freed last first, of those freed at once the first. */
export function freedLast(servers: readonly Server[], minute: number, count: number): Server[] {
  const free: Server[] = [];
  for (const server of servers) {
    if (server.until > minute) continue;
    let at = free.length;
    while (at > 0 && free[at - 1]!.until < server.until) at--;
    if (at >= count) continue;
    free.splice(at, 0, server);
    if (free.length > count) free.pop();
  }
  return free;
}
