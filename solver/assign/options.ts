import { fullPan } from "../problem/containers.js";
import type { Want } from "../problem/day-index.js";
import type { LoadSpec } from "../problem/explode.js";
import { type MadeMode, modesOf } from "../problem/modes.js";
import type { Prepared } from "../problem/prepare.js";
import { doughForPiecesG } from "../trade/dough.js";

/** Lines of one product for one site at one due time: what the assignment decides about. */
export interface Family {
  readonly product: string;
  readonly deliverTo: string;
  readonly madeAt: string | undefined;
  readonly due: number;
  readonly wants: readonly Want[];
  readonly pieces: number;
  readonly pans: number;
  /** Ways to make one full pan of it. */
  readonly ways: readonly MadeMode[];
}

/** A load of one full pan that stands for any. */
function nominalLoad(prepared: Prepared, wants: readonly Want[]): LoadSpec {
  const { line } = wants[0]!;
  const product = prepared.index.products.get(line.product)!;
  const pieces = fullPan(prepared.index, product);
  return {
    id: "nominal",
    product: product.id,
    deliverTo: line.site,
    madeAt: line.madeAt,
    mixSite: line.site,
    pieces,
    pans: 1,
    doughG: Math.round(doughForPiecesG(product, pieces)),
    portions: wants.map((want) => ({ want, pieces: want.pieces })),
  };
}

/** Groups the orders into families with the ways in which each can be made. */
export function families(prepared: Prepared, wants: readonly Want[]): Family[] {
  const groups = new Map<string, Want[]>();
  for (const want of wants) {
    const { product, site, madeAt } = want.line;
    const key = `${product} ${site} ${madeAt ?? ""} ${want.due}`;
    groups.set(key, [...(groups.get(key) ?? []), want]);
  }
  return [...groups.values()].map((own) => {
    const { product, site, madeAt } = own[0]!.line;
    const load = nominalLoad(prepared, own);
    const pieces = own.reduce((sum, want) => sum + want.pieces, 0);
    return {
      product,
      deliverTo: site,
      madeAt,
      due: own[0]!.due,
      wants: own,
      pieces,
      pans: load.pieces > 0 ? pieces / load.pieces : 0,
      ways: load.pieces > 0 ? modesOf(prepared.request, load) : [],
    };
  });
}
