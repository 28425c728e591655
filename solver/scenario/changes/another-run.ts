import { CannotChange, changeKind, freshId } from "../change.js";

export const anotherRun = changeKind<"another-run">({
  kind: "another-run",
  apply: (day, { like, departs, chilled }) => {
    const model = day.network.vanRuns.find((run) => run.id === like);
    if (!model)
      throw new CannotChange(
        "not-allowed",
        "like",
        `Van run "${like}" is not in the network.`,
        "Name one of the network's van runs.",
      );
    const run = {
      ...model,
      id: freshId(like, day.network.vanRuns),
      name: `${model.name}, extra ${departs}`,
      departs,
      chilled: chilled ?? model.chilled,
    };
    return { ...day, network: { ...day.network, vanRuns: [...day.network.vanRuns, run] } };
  },
  words: (day, { like, departs }) =>
    `one more van run like ${day.network.vanRuns.find((run) => run.id === like)?.name ?? like}, departing ${departs}`,
});
