import type { Balance, DayDocuments, StationLoad } from "../../schemas/index.js";
import { instantMinute, localParts, parseInstant, resolveWindow } from "../../solver/calendar.js";
import { productName, siteName } from "../../solver/index.js";
import { LocalClock } from "../../solver/local-clock.js";
import { wantingText } from "./summary.js";
import { table } from "./table.js";

const HAND_OVER = { tubs: "as chilled tubs", pans: "as chilled pans", baked: "baked" } as const;

function zoneOf(day: DayDocuments, site: string): string {
  return day.network.sites.find(({ id }) => id === site)?.timeZone ?? "UTC";
}

/** HH:MM on a site's clock. */
function timeOf(day: DayDocuments, site: string, instant: string): string {
  const window = resolveWindow(day.settings, day.network);
  const minute = Math.floor(instantMinute(instant));
  return "problem" in window ? instant : new LocalClock(zoneOf(day, site), window).time(minute);
}

/** A site's stations by hour, in percent; hours in which nothing is on are left out at both ends. */
function hourTable(day: DayDocuments, site: string, loads: readonly StationLoad[]): string[] {
  const own = loads.filter((load) => load.site === site);
  const busy = own.flatMap(({ hours }) => hours.flatMap((share, hour) => (share > 0 ? [hour] : [])));
  if (busy.length === 0) return [];
  const first = Math.min(...busy);
  const last = Math.max(...busy);
  const start = Math.floor(parseInstant(own[0]!.from)! / 60);
  const heads = Array.from({ length: last - first + 1 }, (_, i) =>
    localParts(start + (first + i) * 60, zoneOf(day, site)).time.slice(0, 2),
  );
  const rows = own.map(({ station, hours }) => [
    `    ${station}`,
    ...hours.slice(first, last + 1).map((share) => (share > 0 ? String(Math.round(100 * share)) : ".")),
  ]);
  return table(
    [["    % in use, from", ...heads], ...rows],
    heads.map((_, i) => i + 1),
  );
}

/** Said first: what the wishes leave out. */
function moreShort({ timetable, shortWithoutWishes }: Balance): string[] {
  const short = timetable.orders.reduce((sum, { shortPieces }) => sum + shortPieces, 0);
  if (shortWithoutWishes === undefined || short <= shortWithoutWishes) return [];
  const without = shortWithoutWishes === 0 ? "none" : String(shortWithoutWishes);
  return [
    "",
    `With your wishes ${short} ${short === 1 ? "piece is" : "pieces are"} not made; without them ${without}.`,
  ];
}

type Told = Balance["wishes"][number];

function priceOf({ cost }: Told, currency: string): string {
  return cost === undefined ? "no price" : `at least ${cost.toFixed(2)} ${currency}`.trimEnd();
}

function cameOf({ cannotBeKept, atMostPercent, sharePercent, isKept }: Told): string {
  const cannot =
    cannotBeKept === "alone"
      ? `cannot be kept${atMostPercent === undefined ? "" : `: at most ${atMostPercent} % can be baked there`}`
      : cannotBeKept === "together"
        ? "cannot be kept together with the others"
        : "";
  const missed = isKept === false && cannot === "" ? "not kept, for want of room or time to search" : "";
  const share = sharePercent === undefined ? "" : `the timetable has ${sharePercent} %`;
  if (cannot !== "") return [cannot, share].filter((part) => part !== "").join("; ");
  return [share, missed].filter((part) => part !== "").join(": ");
}

/** Who bakes what for whom, what rides, and how full each station is by hour. */
export function balanceText(day: DayDocuments, balance: Balance): string {
  const { sites, makes, transfers, wishes, rounds, timetable } = balance;
  const currency = day.settings.currency ?? "";
  const lines = [
    balance.name,
    ...moreShort(balance),
    "",
    ...table(
      [
        ["Site", "wants", "bakes", "of all", "for others", "mixes"],
        ...sites.map((site) => [
          siteName(day, site.site),
          String(site.wantedPieces),
          String(site.bakedPieces),
          `${site.sharePercent} %`,
          String(site.bakedForOthers),
          `${site.mixedKg} kg`,
        ]),
      ],
      [1, 2, 3, 4, 5],
    ),
  ];
  for (const { site } of sites) {
    const own = makes.filter((make) => make.bakedAt === site);
    const products = new Map<string, string[]>();
    for (const make of own) {
      const how =
        make.handOver && make.handOver !== "baked"
          ? `, dough from ${siteName(day, make.mixedAt)} ${HAND_OVER[make.handOver]}`
          : "";
      const name = `${make.pieces} ${make.deliverTo === site ? "for itself" : `for ${siteName(day, make.deliverTo)}`}${how}`;
      products.set(make.product, [...(products.get(make.product) ?? []), name]);
    }
    lines.push("", `${siteName(day, site)} bakes`);
    lines.push(
      ...table([...products].map(([product, parts]) => [`    ${productName(day, product)}`, parts.join("; ")])),
    );
    if (own.length === 0) lines.push("    nothing");
    lines.push(...hourTable(day, site, balance.loads));
  }
  if (transfers.length > 0) {
    lines.push("", "Rides");
    const rows = transfers.map((ride) => [
      `  ${timeOf(day, ride.from, ride.departs)}`,
      `${siteName(day, ride.from)} to ${siteName(day, ride.to)}`,
      `${ride.positions} of ${ride.room} positions`,
      [
        ride.tubs > 0 ? `${ride.tubs} pieces as chilled tubs` : "",
        ride.pans > 0 ? `${ride.pans} as chilled pans` : "",
        ride.baked > 0 ? `${ride.baked} baked` : "",
      ]
        .filter((part) => part !== "")
        .join(", "),
    ]);
    lines.push(...table(rows));
  }
  if (wishes.length > 0) {
    const isPriced = balance.programCost !== undefined;
    lines.push(
      "",
      isPriced
        ? "Your wishes, and what each costs at least (the program solved again without it)"
        : "Your wishes cannot all be kept, so none of them has a price",
    );
    const rows = wishes.map((wish) => [`  ${priceOf(wish, currency)}`, wish.text, cameOf(wish)]);
    lines.push(...table(isPriced ? rows : rows.map(([, text, came]) => [`  ${text}`, came!])));
  }
  const onTime = timetable.orders.filter(({ state }) => state === "on-time").length;
  lines.push(
    "",
    `The timetable drawn up after it, verified: ${onTime} of ${timetable.orders.length} lines on time, cost ${timetable.cost.total.toFixed(2)} ${currency}`.trimEnd() +
      ".",
  );
  rounds.forEach((round, i) => {
    for (const learnt of round.learnt) lines.push(`  round ${i + 1}: ${learnt}`);
  });
  const wanting = wantingText(day, timetable);
  if (wanting !== "") lines.push("", wanting);
  return `${lines.join("\n")}\n`;
}
