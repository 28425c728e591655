/**
 * The usual cautions of the work, short enough to be read at arm's length. Lye: 21 CFR 184.1763 (food use), rinsing times as on safety sheets; flour dust: UK
 * exposure limits; raw flour: FDA advice; the rest is common practice.
 */
export type Caution =
  | "boiling-water"
  | "lye"
  | "hot-decks"
  | "mixer"
  | "lifting"
  | "raw-flour"
  | "flour-dust"
  | "cold-chain"
  | "time-limit"
  | "allergen-order";

export const CAUTIONS: Readonly<Record<Caution, string>> = {
  "boiling-water": "Boiling water and steam scald: lower pieces in gently, lid away from you, sleeves and face clear.",
  lye: "LYE BURNS SKIN AND EYES: goggles, gloves, apron; lye into cold water, never water into lye; no aluminium. Splash: rinse 15 min or more; eyes: rinse 20 min and get medical help. Local rules and the maker's safety sheet come first.",
  "hot-decks": "Decks and pans burn: dry mitts, long sleeves, a clear way to the rack.",
  mixer: "Mixer: hands and cloths out while it turns; lock it out before cleaning.",
  lifting: "Heavy tubs: close to the body, two people or a trolley.",
  "raw-flour": "Raw dough and flour can carry germs: no tasting, apart from ready-to-eat food, wash hands and bench.",
  "flour-dust": "Flour dust harms lungs: tip low and slowly, no sweeping or compressed air.",
  "cold-chain": "Cold chain: out of the cold only for the times shown; measure and write down.",
  "time-limit": "Time limit: write down when it leaves the cold; past the limit, do not use.",
  "allergen-order": "Allergens: keep to the order and the cleanings shown; a change of order needs a clean.",
};

/** On every sheet. */
export const COMES_FIRST = "Local food code, equipment manuals and licensed practice come first.";
/** The tool computes; it has measured nothing and declares nothing. */
export const ONLY_COMPUTED = "Times and temperatures here are computed, not measured.";
