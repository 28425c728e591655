import type { DayDocuments, Timetable } from "../../schemas/index.js";

/** The usual cautions that apply to what is on the timetable; local rules and licensed practice come first. */
export function cautionsText(day: DayDocuments, timetable: Timetable): string {
  const lines: string[] = [];
  const products = new Set(timetable.loads.map((load) => load.product));
  const made = day.catalogue.products.filter((product) => products.has(product.id));
  const steps = made.flatMap((product) => product.routes.flatMap((route) => route.steps));
  if (steps.some((step) => step.does === "boil"))
    lines.push("Boiling water and steam scald: lower pieces gently, keep sleeves and faces clear.");
  if (steps.some((step) => step.does === "boil" && step.lyePercent !== undefined)) {
    lines.push(
      "Lye burns skin and eyes: gloves and goggles; add lye to cold water, never water to lye; no aluminium; rinse splashes with plenty of water and get medical help for eyes.",
    );
  }
  lines.push("Decks and pans are far hotter than skin bears: dry mitts, long sleeves, a clear way to the rack.");
  lines.push(
    "Mixers: hands and cloths out of the bowl while it turns; lock out before cleaning. Full tubs are heavy: two people, or a trolley.",
  );
  lines.push("Raw dough and raw flour are not to be tasted and stay apart from what is ready to eat.");
  const ids = new Set([
    ...made.flatMap((product) => product.toppings?.map((topping) => topping.ingredient) ?? []),
    ...made.flatMap(
      (product) =>
        day.catalogue.doughs.find((dough) => dough.id === product.dough)?.formula.map((line) => line.ingredient) ?? [],
    ),
  ]);
  const allergens = new Set(
    day.catalogue.ingredients
      .filter((ingredient) => ids.has(ingredient.id))
      .flatMap((ingredient) => ingredient.allergens ?? []),
  );
  if (allergens.size > 0) {
    const names = day.catalogue.allergens
      .filter((allergen) => allergens.has(allergen.id))
      .map((allergen) => allergen.name);
    lines.push(`Allergens in use today: ${names.join(", ")}. Keep to the order and the cleanings of the timetable.`);
  }
  lines.push(
    "Cold chain: chilled doughs and pans leave the cold only for the times shown. Computed times are planning help, not proof that food is safe.",
  );
  lines.push(
    `Local food code, equipment manuals and licensed practice come first${day.settings.jurisdiction ? ` (limits entered for: ${day.settings.jurisdiction})` : ""}.`,
  );
  return ["Take care", ...lines.map((line) => `  - ${line}`)].join("\n");
}
