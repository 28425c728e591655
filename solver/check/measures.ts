import { MOST_PLACES, piecesPerPan } from "../geometry/index.js";
import type { Check } from "./context.js";

/** Nothing that is divided and panned piece by piece is lighter; what is was given in kg. */
const LEAST_PIECE_G = 1;
/** The greatest flat measure of the least piece. */
const LEAST_PIECE_MM = 5;
/** No deck or shelf takes more pans or tubs. */
const MOST_CONTAINERS = 1000;
/** A pan or tub that is nowhere so wide was given in cm or m; else it is what it stands on that is too large. */
const LEAST_CONTAINER_MM = 100;

/** The densest dough, g/mm3: no dough stands lower in a tub. */
const DENSEST_G_PER_MM3 = 1.5e-3;

/** An area on which containers stand. */
interface Surface {
  readonly pointer: string;
  readonly name: string;
  readonly widthMm: number;
  readonly depthMm: number;
}

/** What is far from any kitchen is a slip of unit: pieces of no weight, thousands of things where a few fit. */
export const checkMeasures: Check = (day, findings) => {
  const { network, catalogue } = day;
  const many = MOST_PLACES.toLocaleString("en");
  catalogue.products.forEach((product, p) => {
    const { name, pieceG, shape } = product;
    const acrossMm = shape.form === "round" ? shape.diameterMm : Math.max(shape.widthMm, shape.depthMm);
    if (acrossMm < LEAST_PIECE_MM)
      findings.add(
        "piece-too-small",
        "catalogue",
        `/products/${p}/shape`,
        `A piece of ${name} would be ${acrossMm} mm across; the least is ${LEAST_PIECE_MM} mm.`,
        "Give the measures in mm: 11 cm is 110.",
      );
    if (pieceG < LEAST_PIECE_G)
      findings.add(
        "piece-too-light",
        "catalogue",
        `/products/${p}/pieceG`,
        `A piece of ${name} would weigh ${pieceG} g; the least is ${LEAST_PIECE_G} g.`,
        "Give the mass in grams: 0.085 kg is 85.",
      );
    const panType = network.panTypes.find((type) => type.id === product.panType);
    if (!panType || (piecesPerPan(product, panType).layout?.count ?? 0) < MOST_PLACES) return;
    findings.add(
      "too-many-fit",
      "catalogue",
      `/products/${p}/shape`,
      `By their measures ${many} or more ${name} fit on ${panType.name} (${panType.widthMm} x ${panType.depthMm} mm).`,
      "Check the measures of the piece and of the pan, which are in mm: 10 cm is 100.",
    );
  });
  network.tubTypes.forEach((type, t) => {
    const highMm = type.maxDoughG / (DENSEST_G_PER_MM3 * type.innerWidthMm * type.innerDepthMm);
    if (highMm <= type.heightMm) return;
    findings.add(
      "tub-too-small",
      "network",
      `/tubTypes/${t}`,
      `${type.maxDoughG} g of dough would stand at least ${Math.ceil(highMm)} mm high in ${type.name} (${type.innerWidthMm} x ${type.innerDepthMm} mm inside), which is ${type.heightMm} mm high.`,
      "Check maxDoughG, which is in g, and the inner measures and height, which are in mm.",
    );
  });
  const surfaces: Surface[] = network.sites.flatMap((site, s) => [
    ...site.ovens.flatMap(({ id, decks }, o) =>
      decks.map((deck, d) => ({
        ...deck,
        pointer: `/sites/${s}/ovens/${o}/decks/${d}`,
        name: `${site.id}/${id}/${deck.id}`,
      })),
    ),
    ...site.fridges.flatMap(({ id, shelves }, f) =>
      shelves.map((shelf, h) => ({
        ...shelf,
        pointer: `/sites/${s}/fridges/${f}/shelves/${h}`,
        name: `${site.id}/${id}/${shelf.id}`,
      })),
    ),
  ]);
  let largest = surfaces[0];
  for (const surface of surfaces)
    if (surface.widthMm * surface.depthMm > largest!.widthMm * largest!.depthMm) largest = surface;
  if (!largest) return;
  const { name: surface, widthMm, depthMm } = largest;
  const told = new Set<string>();
  for (const kind of ["panTypes", "tubTypes"] as const)
    network[kind].forEach((type, i) => {
      if ((widthMm * depthMm) / (type.widthMm * type.depthMm) <= MOST_CONTAINERS) return;
      const pointer =
        Math.min(type.widthMm, type.depthMm) < LEAST_CONTAINER_MM
          ? `/${kind}/${i}/widthMm`
          : `${largest.pointer}/widthMm`;
      if (told.has(pointer)) return;
      told.add(pointer);
      findings.add(
        "too-many-fit",
        "network",
        pointer,
        `By their measures more than ${MOST_CONTAINERS} of ${type.name} (${type.widthMm} x ${type.depthMm} mm) fit on ${surface} (${widthMm} x ${depthMm} mm).`,
        "Check the measures of both, which are in mm: 60 cm is 600.",
      );
    });
};
