import type { Balance } from "../../../schemas/index.js";
import { dayTime, msOf } from "../logic/clock.js";
import { type Plan, zoneOf } from "../logic/plan.js";

type Account = Pick<Balance, "sites" | "makes" | "transfers">;

const AS: Readonly<Record<"tubs" | "pans" | "baked", string>> = {
  tubs: "as chilled tubs",
  pans: "as chilled pans",
  baked: "baked",
};

const whole = (n: number): string => n.toLocaleString("en-GB");

function Delta({ now, before, unit }: { now: number; before: number | undefined; unit: string }) {
  const by = before === undefined ? 0 : Math.round((now - before) * 10) / 10;
  if (by === 0) return null;
  return (
    <span class="tag">
      {by > 0 ? "+" : "−"}
      {whole(Math.abs(by))} {unit}
    </span>
  );
}

/** Each site's part: what it bakes of all, what it wants, what it makes for others. */
export function SiteShares({ plan, account, before }: { plan: Plan; account: Account; before: Account | undefined }) {
  return (
    <ul class="site-shares">
      {account.sites.map((site) => {
        const old = before?.sites.find((one) => one.site === site.site);
        return (
          <li key={site.site} class="card">
            <h3>{plan.sites.get(site.site)?.name}</h3>
            <p>
              <b class="share-number">{site.sharePercent} %</b> of all pieces{" "}
              <Delta now={site.sharePercent} before={old?.sharePercent} unit="%" />
            </p>
            <span class="share-bar" aria-hidden="true">
              <i style={{ width: `${site.sharePercent}%` }} />
            </span>
            <dl class="what-figures">
              <div>
                <dt>Bakes</dt>
                <dd>
                  <Delta now={site.bakedPieces} before={old?.bakedPieces} unit="" />
                  <b>{whole(site.bakedPieces)}</b>
                </dd>
              </div>
              <div>
                <dt>of these for others</dt>
                <dd>
                  <Delta now={site.bakedForOthers} before={old?.bakedForOthers} unit="" />
                  <b>{whole(site.bakedForOthers)}</b>
                </dd>
              </div>
              <div>
                <dt>Ordered here</dt>
                <dd>
                  <b>{whole(site.wantedPieces)}</b>
                </dd>
              </div>
              <div>
                <dt>Mixes</dt>
                <dd>
                  <Delta now={site.mixedKg} before={old?.mixedKg} unit="" />
                  <b>{whole(site.mixedKg)} kg</b>
                </dd>
              </div>
            </dl>
          </li>
        );
      })}
    </ul>
  );
}

/** Products by the site that bakes them; under each number for whom, and whose dough. */
export function MakesTable({ plan, account }: { plan: Plan; account: Account }) {
  const sites = plan.day.network.sites;
  const name = (id: string): string => plan.sites.get(id)?.name ?? id;
  const products = plan.day.catalogue.products.filter((product) =>
    account.makes.some((make) => make.product === product.id),
  );
  return (
    <section class="card balance-card" aria-labelledby="makes-title">
      <h2 id="makes-title">Who bakes what</h2>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolled region must be reachable by keyboard */}
      <section class="balance-scroll" tabIndex={0} aria-label="Products by site">
        <table class="balance-table">
          <thead>
            <tr>
              <th scope="col">Product</th>
              {sites.map((site) => (
                <th key={site.id} scope="col">
                  {site.name}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {products.map((product) => (
              <tr key={product.id}>
                <th scope="row">{product.name}</th>
                {sites.map((site) => {
                  const own = account.makes.filter((make) => make.product === product.id && make.bakedAt === site.id);
                  const all = own.reduce((sum, make) => sum + make.pieces, 0);
                  const notes = own.flatMap((make) => {
                    const parts = [
                      ...(make.deliverTo === site.id ? [] : [`for ${name(make.deliverTo)}`]),
                      ...(make.mixedAt === site.id
                        ? []
                        : [`dough from ${name(make.mixedAt)} ${AS[make.handOver ?? "tubs"]}`]),
                    ];
                    return parts.length > 0 ? [`${whole(make.pieces)} ${parts.join(", ")}`] : [];
                  });
                  return (
                    <td key={site.id}>
                      {all === 0 ? <span class="quiet">–</span> : <b>{whole(all)}</b>}
                      {notes.map((note) => (
                        <span key={note} class="small quiet">
                          {note}
                        </span>
                      ))}
                    </td>
                  );
                })}
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </section>
  );
}

/** What rides on which trip, and how full the van is. */
export function RidesTable({ plan, account }: { plan: Plan; account: Account }) {
  const name = (id: string): string => plan.sites.get(id)?.name ?? id;
  const rides = [...account.transfers].sort((a, b) => msOf(a.departs) - msOf(b.departs));
  return (
    <section class="card balance-card" aria-labelledby="rides-title">
      <h2 id="rides-title">What rides</h2>
      {rides.length === 0 ? (
        <p class="quiet">Nothing. Every site makes its own.</p>
      ) : (
        <ul class="rides">
          {rides.map((ride) => (
            <li key={ride.trip}>
              <b>{dayTime(zoneOf(plan, ride.from), msOf(ride.departs))}</b>
              <span>
                {plan.day.network.vanRuns.find((run) => run.id === ride.run)?.name ?? ride.run}
                <span class="small quiet">
                  {name(ride.from)} to {name(ride.to)}
                </span>
              </span>
              <span>
                <meter
                  min={0}
                  max={Math.max(1, ride.room)}
                  value={ride.positions}
                  aria-label={`Positions of ${ride.trip}`}
                />
                <span class="small quiet">
                  {ride.positions} of {ride.room} positions
                </span>
              </span>
              <span class="small">
                {(["tubs", "pans", "baked"] as const)
                  .filter((kind) => ride[kind] > 0)
                  .map((kind) => `${whole(ride[kind])} pieces ${AS[kind]}`)
                  .join(", ")}
              </span>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
