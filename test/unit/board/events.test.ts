import { describe, expect, it } from "vitest";
import { EventSplitter } from "../../../services/board/data/events.js";

// Examples of the HTML Living Standard, section 9.2.6 "Interpreting an event stream".
describe("server-sent events", { timeout: 60_000 }, () => {
  it("joins data lines with a line feed", () => {
    expect(new EventSplitter().push("data: YHOO\ndata: +2\ndata: 10\n\n")).toEqual([
      { type: "message", data: "YHOO\n+2\n10", id: undefined },
    ]);
  });

  it("skips comments, keeps ids, and drops the block that has no data", () => {
    const found = new EventSplitter().push(
      ": test stream\n\ndata: first event\nid: 1\n\ndata:second event\nid\n\ndata:  third event\n\n",
    );
    expect(found).toEqual([
      { type: "message", data: "first event", id: "1" },
      { type: "message", data: "second event", id: "" },
      { type: "message", data: " third event", id: undefined },
    ]);
  });

  it("two empty data lines are one line feed; an unfinished block waits", () => {
    const splitter = new EventSplitter();
    expect(splitter.push("data\n\ndata\ndata\n\ndata:")).toEqual([
      { type: "message", data: "", id: undefined },
      { type: "message", data: "\n", id: undefined },
    ]);
    expect(splitter.push("x\n\n")).toEqual([{ type: "message", data: "x", id: undefined }]);
  });

  it("gives the same events however the stream is cut", () => {
    const text = 'event: progress\r\ndata: {"cost":1}\r\n\r\nevent: job\ndata: a\ndata: b\n\n';
    const whole = new EventSplitter().push(text);
    expect(whole.map((event) => event.type)).toEqual(["progress", "job"]);
    for (let size = 1; size < text.length; size++) {
      const splitter = new EventSplitter();
      const found = [];
      for (let i = 0; i < text.length; i += size) found.push(...splitter.push(text.slice(i, i + size)));
      expect(found).toEqual(whole);
    }
  });
});
