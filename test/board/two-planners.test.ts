import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { build } from "../support/built.js";
import { drawInForce, type Stage, setStage } from "./stage.js";

let stage: Stage;
beforeAll(async () => {
  build();
  stage = await setStage();
  await drawInForce(stage, "ordinary-day", 200);
}, 180_000);
afterAll(async () => {
  await stage?.close();
});

interface Told {
  readonly body: { readonly happenings: readonly { readonly kind: string; readonly unit?: string }[] };
}
const outages = async (): Promise<(string | undefined)[]> =>
  ((await stage.api("GET", "/api/days/ordinary-day/documents/happenings")) as never as Told).body.happenings
    .filter(({ kind }) => kind === "out-of-service")
    .map(({ unit }) => unit)
    .sort();

describe("two planners at one day", { timeout: 180_000 }, () => {
  it("accept nothing that does not know of what the other accepted, and undo nothing of the other's", async () => {
    const [one, two] = [await stage.open("today"), await stage.open("today")];
    for (const [page, unit] of [
      [one, "Window bench"],
      [two, "Racks by the door"],
    ] as const) {
      await page.getByRole("button", { name: `Out of service: ${unit}` }).click();
      await page.getByRole("button", { name: "Show the changes" }).click();
    }
    const changes = [one, two].map((page) => page.getByRole("region", { name: "Changes" }));
    for (const list of changes) await list.getByRole("heading", { name: "If you accept" }).waitFor({ timeout: 60_000 });
    await changes[0]!.getByRole("button", { name: "Accept" }).click();
    await changes[0]!.waitFor({ state: "detached" });
    await changes[1]!.getByText("The day was changed since this was worked out").waitFor();
    expect(await changes[1]!.getByRole("button", { name: "Accept" }).count()).toBe(0);
    await changes[1]!.getByRole("button", { name: "Work them out again" }).click();
    await changes[1]!.getByRole("button", { name: "Accept" }).click({ timeout: 60_000 });
    await changes[1]!.waitFor({ state: "detached" });
    expect(await outages()).toHaveLength(2);

    // What the first one did lies beneath the second one's now.
    await one.getByRole("button", { name: "Undo" }).click();
    await one.getByText("Somebody changed the same since").waitFor();
    expect(await outages()).toHaveLength(2);
    // The second one's can be taken back, and then the first one's, by whoever did it.
    await two.getByRole("button", { name: "Undo" }).click();
    await two.getByRole("button", { name: "Redo" }).and(two.locator(":enabled")).waitFor();
    expect(await outages()).toHaveLength(1);
    expect([...one.complaints, ...two.complaints]).toEqual([]);
    await one.context().close();
    await two.context().close();
  });
});
