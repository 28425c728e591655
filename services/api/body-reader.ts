import type { IncomingMessage, ServerResponse } from "node:http";
import type { Readable } from "node:stream";
import { createBrotliDecompress, createGunzip, createInflate } from "node:zlib";
import { Problem } from "../problem.js";
import { Pace } from "./pace.js";

const CHUNK_BYTES = 64 * 1024;
/** Of a body that is refused so many times the greatest size is let in and dropped, so that its sender comes to read why; then the line is cut. */
const DROPPED_TIMES = 4;

const UNPACK = {
  gzip: () => createGunzip({ chunkSize: CHUNK_BYTES }),
  deflate: () => createInflate({ chunkSize: CHUNK_BYTES }),
  br: () => createBrotliDecompress({ chunkSize: CHUNK_BYTES }),
} as const;

/** A body as it comes in: each bit is put in its place at once, so that a great one is never joined in one piece at its end. */
class Gathered {
  private room: Buffer;
  length = 0;

  /** `said`: how long it will be, if that is known; else it gets more room as it grows. */
  constructor(said: number | undefined) {
    this.room = Buffer.allocUnsafeSlow(said ?? CHUNK_BYTES);
  }

  add(chunk: Buffer): void {
    const length = this.length + chunk.length;
    if (length > this.room.length) {
      const more = Buffer.allocUnsafeSlow(Math.max(length, 2 * this.room.length));
      more.set(this.bytes());
      this.room = more;
    }
    this.room.set(chunk, this.length);
    this.length = length;
  }

  bytes(): Uint8Array {
    return this.room.subarray(0, this.length);
  }
}

/** The length that a request says its body has; undefined when it says none, or one of the packed body. */
export function saidBytes({ headers }: IncomingMessage): number | undefined {
  const said = Number(headers["content-length"]);
  const isPacked = (headers["content-encoding"] ?? "identity") !== "identity";
  return Number.isFinite(said) && !isPacked ? said : undefined;
}

function hasBody({ headers }: IncomingMessage): boolean {
  return headers["transfer-encoding"] !== undefined || Number(headers["content-length"] ?? 0) > 0;
}

function unpacked(request: IncomingMessage): Readable {
  const coding = (request.headers["content-encoding"] ?? "identity").toLowerCase();
  if (coding === "identity") return request;
  if (!Object.hasOwn(UNPACK, coding))
    throw new Problem("media-type", `The body's coding ${JSON.stringify(coding.slice(0, 60))} is not known here.`);
  return request.pipe(UNPACK[coding as keyof typeof UNPACK]());
}

/** Reads bodies, all at one pace, so that however many come and however great, none of the loop's rounds is long. */
export class BodyReader {
  private readonly pace = new Pace();

  constructor(private readonly mostBytes: number) {}

  /** All of a body; a problem when it is too great, cut off, or not packed as it says. */
  read(request: IncomingMessage): Promise<Uint8Array> {
    const said = saidBytes(request);
    if (said !== undefined && said > this.mostBytes) return Promise.reject(tooBig());
    const source = unpacked(request);
    const gathered = new Gathered(said);
    return new Promise((resolve, reject) => {
      const end = (settle: () => void): void => {
        source.off("data", onData);
        if (source !== request) {
          request.unpipe();
          source.destroy();
        }
        settle();
      };
      const onData = (chunk: Buffer): void => {
        if (gathered.length + chunk.length > this.mostBytes) end(() => reject(tooBig()));
        else {
          gathered.add(chunk);
          this.pace.took(source, chunk.length);
        }
      };
      const cut = (): void => end(() => reject(new Problem("bad-request", "The body was cut off.")));
      source.on("data", onData);
      source.once("end", () => end(() => resolve(gathered.bytes())));
      const notPacked = (): void =>
        end(() => reject(new Problem("bad-request", "The body is not compressed as it says.")));
      source.once("error", source === request ? cut : notPacked);
      request.once("close", () => request.complete || cut());
    });
  }

  /** What was sent and is not read by the time that it is answered is dropped, at the same pace. */
  dropUnread(request: IncomingMessage, response: ServerResponse): void {
    if (!hasBody(request)) return;
    // Before Node's own listener, which would read as fast as it comes.
    response.prependOnceListener("finish", () => {
      if (request.complete || request.destroyed) return;
      let dropped = 0;
      request.removeAllListeners("data");
      request.on("data", (chunk: Buffer) => {
        dropped += chunk.length;
        if (dropped > DROPPED_TIMES * this.mostBytes) request.destroy();
        else this.pace.took(request, chunk.length);
      });
      // Counts as begun, so Node leaves it alone.
      request.read(0);
      request.resume();
    });
  }
}

function tooBig(): Problem {
  return new Problem("body-too-big", "The body is bigger than this server takes.");
}
