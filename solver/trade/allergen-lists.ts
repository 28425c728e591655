import type { Catalogue, RegulatedAllergen } from "../../schemas/index.js";

export interface AllergenList {
  readonly id: "us" | "eu";
  readonly name: string;
  /** The law. Read again before relying on it: lists change. */
  readonly source: string;
  readonly entries: readonly { readonly code: RegulatedAllergen; readonly name: string }[];
}

/** "Wheat" of the US list is not "cereals containing gluten" of the EU list: rye, barley and oats are on one only. */
export const ALLERGEN_LISTS: readonly AllergenList[] = [
  {
    id: "us",
    name: "US major food allergens (nine)",
    source: "Food Allergen Labeling and Consumer Protection Act 2004 and FASTER Act 2021 (sesame from 2023-01-01)",
    entries: [
      { code: "us-milk", name: "milk" },
      { code: "us-egg", name: "egg" },
      { code: "us-fish", name: "fish" },
      { code: "us-crustacean-shellfish", name: "crustacean shellfish" },
      { code: "us-tree-nuts", name: "tree nuts" },
      { code: "us-peanut", name: "peanut" },
      { code: "us-wheat", name: "wheat" },
      { code: "us-soy", name: "soybean" },
      { code: "us-sesame", name: "sesame" },
    ],
  },
  {
    id: "eu",
    name: "EU substances causing allergies or intolerances (fourteen)",
    source: "Regulation (EU) No 1169/2011, Annex II",
    entries: [
      { code: "eu-gluten-cereals", name: "cereals containing gluten" },
      { code: "eu-crustaceans", name: "crustaceans" },
      { code: "eu-eggs", name: "eggs" },
      { code: "eu-fish", name: "fish" },
      { code: "eu-peanuts", name: "peanuts" },
      { code: "eu-soybeans", name: "soybeans" },
      { code: "eu-milk", name: "milk" },
      { code: "eu-nuts", name: "nuts" },
      { code: "eu-celery", name: "celery" },
      { code: "eu-mustard", name: "mustard" },
      { code: "eu-sesame", name: "sesame seeds" },
      { code: "eu-sulphites", name: "sulphur dioxide and sulphites above 10 mg/kg or mg/l" },
      { code: "eu-lupin", name: "lupin" },
      { code: "eu-molluscs", name: "molluscs" },
    ],
  },
];

/** Entries of a list that no allergen of the catalogue stands for: not declared, which is not the same as absent. */
export function undeclared(
  catalogue: Catalogue,
  list: AllergenList,
): readonly { readonly code: string; readonly name: string }[] {
  const covered = new Set(catalogue.allergens.flatMap((allergen) => allergen.regulatedAs ?? []));
  return list.entries.filter(({ code }) => !covered.has(code));
}
