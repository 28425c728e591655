import { CannotChange, changeKind } from "../change.js";

export const tubFill = changeKind<"tub-fill">({
  kind: "tub-fill",
  apply: (day, { tubType, maxDoughG }) => {
    if (!day.network.tubTypes.some((type) => type.id === tubType))
      throw new CannotChange(
        "unknown-tub-type",
        "tubType",
        `Tub type "${tubType}" is not in the network.`,
        "Name one of the network's tub types.",
      );
    const tubTypes = day.network.tubTypes.map((type) => (type.id === tubType ? { ...type, maxDoughG } : type));
    return { ...day, network: { ...day.network, tubTypes } };
  },
  words: (day, { tubType, maxDoughG }) =>
    `at most ${(maxDoughG / 1000).toFixed(1)} kg in a ${day.network.tubTypes.find(({ id }) => id === tubType)?.name ?? tubType}`,
});
