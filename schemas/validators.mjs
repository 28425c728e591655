// Writes dist/schemas/validators.js, what ajv makes of the documents' schemas, after `tsc`; a step of `npm run build`.
import { writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import standalone from "ajv/dist/standalone/index.js";

const DIST = join(dirname(fileURLToPath(import.meta.url)), "../dist/schemas");
const { compiler } = await import(join(DIST, "compiler.js"));
const documents = await import(join(DIST, "documents.js"));

const names = Object.values(documents).map(({ $id }) => [$id.split(".")[0], $id]);
// Ajv asks for two of its own functions with require, in modules too.
const head = 'import { createRequire } from "node:module";\nconst require = createRequire(import.meta.url);\n';
writeFileSync(join(DIST, "validators.js"), head + standalone.default(compiler(true), Object.fromEntries(names)));
