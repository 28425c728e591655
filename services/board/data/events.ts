export interface ServerEvent {
  readonly type: string;
  readonly data: string;
  readonly id: string | undefined;
}

/** Splits a stream of server-sent events (text/event-stream of the HTML standard) as it comes, in pieces of any size. */
export class EventSplitter {
  private rest = "";

  push(text: string): ServerEvent[] {
    this.rest += text;
    const found: ServerEvent[] = [];
    for (;;) {
      const end = /\r\n\r\n|\n\n|\r\r/.exec(this.rest);
      if (!end) return found;
      const block = this.rest.slice(0, end.index);
      this.rest = this.rest.slice(end.index + end[0].length);
      const event = parseBlock(block);
      if (event) found.push(event);
    }
  }
}

function parseBlock(block: string): ServerEvent | undefined {
  let type = "message";
  let id: string | undefined;
  const data: string[] = [];
  for (const line of block.split(/\r\n|\n|\r/)) {
    const colon = line.indexOf(":");
    if (colon === 0 || line === "") continue;
    const field = colon < 0 ? line : line.slice(0, colon);
    const value = colon < 0 ? "" : line.slice(colon + 1).replace(/^ /, "");
    if (field === "event") type = value;
    else if (field === "data") data.push(value);
    else if (field === "id") id = value;
  }
  return data.length > 0 ? { type, data: data.join("\n"), id } : undefined;
}

/** Reads an event stream until it ends. By fetch, not EventSource, which tells nothing of why a stream cannot be had and comes back by itself. */
export async function readEvents(
  path: string,
  onEvent: (event: ServerEvent) => void,
  signal?: AbortSignal,
): Promise<void> {
  const response = await fetch(path, {
    headers: { accept: "text/event-stream" },
    ...(signal ? { signal } : {}),
  });
  if (!response.ok || !response.body) throw new Error(`no events: ${response.status}`);
  const splitter = new EventSplitter();
  const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
  for (;;) {
    const { done, value } = await reader.read();
    if (done) return;
    for (const event of splitter.push(value)) onEvent(event);
  }
}
