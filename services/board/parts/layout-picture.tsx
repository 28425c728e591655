import type { Deck, Fridge, Network, Oven, PanType, Product, TubType } from "../../../schemas/index.js";
import {
  type Layout,
  panItemHeightMm,
  piecesPerPan,
  positionsOnDeck,
  positionsOnShelf,
} from "../../../solver/geometry/index.js";
import { drawnY } from "../logic/instant.js";

interface PictureProps {
  readonly title: string;
  readonly note: string;
  /** What is at the bottom, where the thing has a front: positions are numbered from there. */
  readonly front?: "door" | "front";
  readonly widthMm: number;
  readonly depthMm: number;
  readonly layout: Layout | null;
  readonly isRound?: boolean;
}

function Picture({ title, note, front, widthMm, depthMm, layout, isRound }: PictureProps) {
  return (
    <figure class="layout">
      <figcaption>
        <b>{title}</b> <span class="quiet">{note}</span>
      </figcaption>
      <svg
        viewBox={`-8 -8 ${widthMm + 16} ${depthMm + 16}`}
        role="img"
        aria-label={`${title}: ${note}${front ? `; ${front} at the bottom` : ""}`}
      >
        <rect class="plate" width={widthMm} height={depthMm} rx={6} />
        {(layout?.places ?? []).map((place, i) => (
          <g key={`${place.xMm} ${place.yMm}`}>
            <rect
              class="piece laid"
              x={place.xMm}
              y={drawnY(depthMm, place)}
              width={place.widthMm}
              height={place.depthMm}
              rx={isRound ? place.widthMm / 2 : 8}
            />
            {front && (
              <text class="laid-position" x={place.xMm + 22} y={drawnY(depthMm, place) + 62}>
                {i + 1}
              </text>
            )}
          </g>
        ))}
      </svg>
      {front && <p class="door small">{front}</p>}
    </figure>
  );
}

const isSize = (n: unknown): n is number => typeof n === "number" && n > 0 && n < 1e5;

function words(layout: Layout | null, count: number, what: string, isOwn: boolean): string {
  const pattern = layout && layout.pattern !== "empty" ? `, ${layout.pattern}` : "";
  return `${count} ${what}${isOwn ? ", your own count" : pattern}`;
}

/** How pans lie on a deck, tubs on a shelf, pieces on a pan: to scale, while the sizes are typed. */
export function LayoutPictures({
  definition,
  value,
  network,
  products,
}: {
  definition: string;
  value: unknown;
  network: Network;
  products: readonly Product[];
}) {
  try {
    if (definition === "Oven") return <DeckPictures oven={value as Oven} pans={network.panTypes} />;
    if (definition === "Fridge")
      return (
        <ShelfPictures fridge={value as Fridge} tubs={network.tubTypes} pans={network.panTypes} products={products} />
      );
    if (definition === "Product") return <PanPicture product={value as Product} pans={network.panTypes} />;
    if (definition === "PanType") return <FilledPans pan={value as PanType} products={products} />;
  } catch {
    // Sizes are half typed; the picture comes when they make sense.
  }
  return null;
}

function DeckPictures({ oven, pans }: { oven: Oven; pans: readonly PanType[] }) {
  const seen = new Set<string>();
  const pictures = oven.decks.flatMap((deck: Deck) =>
    pans.flatMap((pan) => {
      const key = `${deck.widthMm} ${deck.depthMm} ${deck.gapMm} ${JSON.stringify(deck.positions)} ${pan.id}`;
      if (seen.has(key) || !isSize(deck.widthMm) || !isSize(deck.depthMm)) return [];
      seen.add(key);
      const positions = positionsOnDeck(deck, pan, pan.heightMm);
      return [
        <Picture
          key={key}
          title={`${deck.id.replace(/-/g, " ")}, ${pan.name}`}
          note={words(
            positions.layout,
            positions.count,
            positions.count === 1 ? "position" : "positions",
            positions.source === "override",
          )}
          front="door"
          widthMm={deck.widthMm}
          depthMm={deck.depthMm}
          layout={positions.layout}
        />,
      ];
    }),
  );
  return <div class="layouts">{pictures}</div>;
}

function ShelfPictures({
  fridge,
  tubs,
  pans,
  products,
}: {
  fridge: Fridge;
  tubs: readonly TubType[];
  pans: readonly PanType[];
  products: readonly Product[];
}) {
  const seen = new Set<string>();
  const pictures = fridge.shelves.flatMap((shelf) => {
    const size = `${shelf.widthMm} ${shelf.depthMm} ${shelf.clearHeightMm} ${shelf.maxMassG} ${JSON.stringify(shelf.positions)}`;
    if (seen.has(size) || !isSize(shelf.widthMm) || !isSize(shelf.depthMm)) return [];
    seen.add(size);
    const same = fridge.shelves.filter(
      (other) =>
        other.widthMm === shelf.widthMm &&
        other.depthMm === shelf.depthMm &&
        other.clearHeightMm === shelf.clearHeightMm,
    ).length;
    const of = tubs.map((tub) => ({
      name: tub.name,
      positions: positionsOnShelf(fridge, shelf, { kind: "tub", tubType: tub, itemMassG: tub.massG + tub.maxDoughG }),
    }));
    const ofPans = pans.map((pan) => {
      const product = products.find((one) => one.panType === pan.id);
      const itemHeightMm = product ? panItemHeightMm(product, pan) : pan.heightMm;
      return {
        name: pan.name,
        positions: positionsOnShelf(fridge, shelf, { kind: "pan", panType: pan, itemHeightMm, itemMassG: pan.massG }),
      };
    });
    return [...of, ...ofPans].map(({ name, positions }) => (
      <Picture
        key={`${size} ${name}`}
        title={`${same} ${same === 1 ? "shelf" : "shelves"} like ${shelf.id.replace(/-/g, " ")}, ${name}`}
        note={words(
          positions.layout,
          positions.count,
          positions.count === 1 ? "position" : "positions",
          positions.source === "override",
        )}
        front="front"
        widthMm={shelf.widthMm}
        depthMm={shelf.depthMm}
        layout={positions.layout}
      />
    ));
  });
  return <div class="layouts">{pictures}</div>;
}

function PanPicture({ product, pans }: { product: Product; pans: readonly PanType[] }) {
  const pan = pans.find((type) => type.id === product.panType);
  if (!pan || !isSize(pan.widthMm)) return null;
  const rim = pan.rimMm ?? 0;
  const pieces = piecesPerPan(product, pan);
  return (
    <div class="layouts">
      <Picture
        title={pan.name}
        note={words(pieces.layout, pieces.count, pieces.count === 1 ? "piece" : "pieces", pieces.source === "override")}
        widthMm={pan.widthMm - 2 * rim}
        depthMm={pan.depthMm - 2 * rim}
        layout={pieces.layout}
        isRound={product.shape.form === "round"}
      />
    </div>
  );
}

function FilledPans({ pan, products }: { pan: PanType; products: readonly Product[] }) {
  if (!isSize(pan.widthMm) || !isSize(pan.depthMm)) return null;
  return (
    <div class="layouts">
      {products
        .filter((product) => product.panType === pan.id)
        .slice(0, 8)
        .map((product) => {
          const pieces = piecesPerPan(product, pan);
          const rim = pan.rimMm ?? 0;
          return (
            <Picture
              key={product.id}
              title={product.name}
              note={words(pieces.layout, pieces.count, "pieces", pieces.source === "override")}
              widthMm={pan.widthMm - 2 * rim}
              depthMm={pan.depthMm - 2 * rim}
              layout={pieces.layout}
              isRound={product.shape.form === "round"}
            />
          );
        })}
    </div>
  );
}
