import { expect, it } from "vitest";
import { sheetsOf } from "../../../solver/sheets/index.js";
import { drawn } from "../../support/drawn.js";

it("a liquid on two lines of a formula is weighed once, as warm as on one line", async () => {
  const { day, timetable } = await drawn("ordinary-day");
  const liquids = new Set(day.catalogue.ingredients.flatMap(({ id, liquid }) => (liquid ? [id] : [])));
  const doughs = day.catalogue.doughs.map((dough) => ({
    ...dough,
    formula: dough.formula.flatMap((line) => {
      if (!liquids.has(line.ingredient)) return [line];
      const part = (share: number) => ({ ...line, bakersPercent: line.bakersPercent * share });
      return [part(0.75), part(0.25)];
    }),
  }));
  const split = { ...day, catalogue: { ...day.catalogue, doughs } };
  const mixes = (of: typeof day) => sheetsOf(of, timetable).filter(({ kind }) => kind === "mix");
  const once = mixes(day);
  for (const [i, sheet] of mixes(split).entries()) {
    const rows = sheet.tables.find(({ id }) => id === "weigh")!.rows;
    const batch = timetable.batches.find(({ id }) => sheet.id.endsWith(`--${id}`))!;
    const sum = rows.reduce((total, { massG }) => total + Number(massG), 0);
    expect(Math.abs(sum - batch.massG), batch.id).toBeLessThanOrEqual(rows.length);
    const temps = (facts: typeof sheet.facts) => facts.flatMap(({ as, value }) => (as === "temp" ? [value] : []));
    expect(temps(sheet.facts)).toEqual(temps(once[i]!.facts));
  }
}, 60_000);
