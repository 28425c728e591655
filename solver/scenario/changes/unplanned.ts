import { changeKind } from "../change.js";

export const unplanned = changeKind<"unplanned">({
  kind: "unplanned",
  apply: (day, { happening }) => ({
    ...day,
    happenings: { ...day.happenings, happenings: [...day.happenings.happenings, happening] },
  }),
  words: (_day, { happening }) => {
    if (happening.kind === "out-of-service") return `${happening.unit} out of service from ${happening.from}`;
    if (happening.kind === "absent") return `${happening.heads} of ${happening.crew} at ${happening.site} absent`;
    return happening.kind === "lock"
      ? `${happening.task} stays as it was`
      : `what happened: ${happening.kind.replaceAll("-", " ")}`;
  },
});
