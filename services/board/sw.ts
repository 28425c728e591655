/**
 * Keeps the board alive without a connection: a tablet that is restarted in the night still shows its station. Built files carry a hash in their
 * name and are taken from the cache; the page and the day's documents from the server, and only where it cannot be reached from the cache.
 * Nothing that changes anything is ever cached or repeated here: marks have an outbox of their own.
 */
interface FetchEvent extends Event {
  readonly request: Request;
  respondWith(response: Promise<Response>): void;
}
interface ExtendableEvent extends Event {
  waitUntil(promise: Promise<unknown>): void;
}
interface WorkerScope {
  addEventListener(type: "fetch", listener: (event: FetchEvent) => void): void;
  addEventListener(type: "install" | "activate", listener: (event: ExtendableEvent) => void): void;
  skipWaiting(): Promise<void>;
  readonly clients: { claim(): Promise<void> };
}

const scope = self as unknown as WorkerScope;
const CACHE = "board-1";
const SAVED = /^\/api(\/days(\/[^/]+\/(documents|marks))?)?$/;

async function fresh(request: Request): Promise<Response> {
  const cache = await caches.open(CACHE);
  try {
    const response = await fetch(request);
    if (response.ok) await cache.put(request, response.clone());
    return response;
  } catch (error) {
    const known = await cache.match(request, { ignoreSearch: request.mode === "navigate" });
    if (known) return known;
    throw error;
  }
}

async function kept(request: Request): Promise<Response> {
  const cache = await caches.open(CACHE);
  const known = await cache.match(request);
  if (known) return known;
  const response = await fetch(request);
  if (response.ok) await cache.put(request, response.clone());
  return response;
}

scope.addEventListener("install", () => void scope.skipWaiting());
scope.addEventListener("activate", (event) => event.waitUntil(scope.clients.claim()));
scope.addEventListener("fetch", (event) => {
  const { request } = event;
  const address = new URL(request.url);
  if (request.method !== "GET" || address.origin !== location.origin) return;
  if (request.mode === "navigate" || SAVED.test(address.pathname)) event.respondWith(fresh(request));
  else if (address.pathname.startsWith("/assets/")) event.respondWith(kept(request));
});
