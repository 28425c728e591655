import { parseArgs } from "node:util";
import { benchCore } from "./core/bench.js";
import { benchBounds } from "./core/bound-bench.js";

const USAGE = `npm run bench -- bound --instances DIR [--step 10] [--seconds 60]

Prints a proven lower bound of every core instance and its gap to the best cost known.

npm run bench -- core --instances DIR [--seconds 1,5,60] [--seeds 1,2,3] [--out DIR]

Searches every core instance (SPEC.md of the reference set) in DIR for each number of seconds and each seed, checks every
solution against the specification, prints a table of medians and their ratios to known.csv, and with --out writes one
solution file per instance and time (the median seed's).
`;

function numbers(text: string): number[] {
  return text.split(",").map(Number);
}

const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: {
    instances: { type: "string" },
    seconds: { type: "string" },
    seeds: { type: "string", default: "1,2,3" },
    out: { type: "string" },
    step: { type: "string", default: "10" },
  },
});

if (positionals[0] === "core" && values.instances !== undefined) {
  process.exitCode = await benchCore({
    folder: values.instances,
    seconds: numbers(values.seconds ?? "1,5"),
    seeds: numbers(values.seeds),
    out: values.out,
  });
} else if (positionals[0] === "bound" && values.instances !== undefined) {
  await benchBounds(values.instances, Number(values.step), Number(values.seconds ?? 60));
} else {
  process.stderr.write(USAGE);
  process.exitCode = 2;
}
