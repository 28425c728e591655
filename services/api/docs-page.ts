import type { Answer, Route } from "./route.js";
import { PATH_PARAMETERS } from "./schemas.js";

function escaped(text: string): string {
  return text.replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;").replaceAll('"', "&quot;");
}

function rows(cells: readonly (readonly string[])[]): string {
  return cells.map((row) => `<tr>${row.map((cell) => `<td>${cell}</td>`).join("")}</tr>`).join("");
}

function schemaText(schema: unknown): string {
  return `<details><summary>form</summary><pre>${escaped(JSON.stringify(schema, null, 2))}</pre></details>`;
}

function answerText(answer: Answer): string {
  const types = answer.types ?? (answer.schema ? { "application/json": answer.schema } : {});
  const forms = Object.entries(types).map(([type, schema]) => `${escaped(type)} ${schemaText(schema)}`);
  const headers = Object.entries(answer.headers ?? {}).map(([name, text]) => `${escaped(name)}: ${escaped(text)}`);
  return [escaped(answer.description), ...headers, ...forms].join("<br>");
}

function section(route: Route): string {
  const names = [...route.path.matchAll(/\{(\w+)\}/g)].map((match) => match[1]!);
  const parameters = [
    ...names.map((name) => [escaped(name), "path", schemaText(PATH_PARAMETERS[name])]),
    ...Object.entries(route.query ?? {}).map(([name, schema]) => [escaped(name), "query", schemaText(schema)]),
    ...Object.entries(route.headers ?? {}).map(([name, text]) => [escaped(name), "header", escaped(text)]),
  ];
  const bodies = route.body
    ? route.body.kind === "json"
      ? [["application/json", schemaText(route.body.schema)]]
      : Object.entries(route.body.types).map(([type, schema]) => [escaped(type), schemaText(schema)])
    : [];
  const answers = Object.entries(route.answers).map(([status, answer]) => [status, answerText(answer)]);
  return `<section id="${route.id}"><h3><code>${route.method} ${escaped(route.path)}</code></h3>
<p>${escaped(route.summary)}. ${route.role === "anybody" ? "Needs no token." : `Role: ${route.role}.`}</p>
${route.about ? `<p>${escaped(route.about)}</p>` : ""}
${parameters.length > 0 ? `<table><caption>Parameters</caption>${rows(parameters)}</table>` : ""}
${bodies.length > 0 ? `<table><caption>Body</caption>${rows(bodies)}</table>` : ""}
<table><caption>Answers</caption>${rows(answers)}</table></section>`;
}

/** The API for readers: one page without scripts, from the same table as everything else. */
export function docsPage(routes: readonly Route[], version: string): string {
  const tags = [...new Set(routes.map(({ tag }) => tag))];
  const list = routes.map((route) => [
    `<a href="#${route.id}"><code>${route.method} ${escaped(route.path)}</code></a>`,
    escaped(route.summary),
  ]);
  const parts = tags.map(
    (tag) =>
      `<h2>${escaped(tag)}</h2>${routes
        .filter((route) => route.tag === tag)
        .map(section)
        .join("\n")}`,
  );
  return `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>Deck &amp; Shelf API ${escaped(version)}</title><link rel="stylesheet" href="/api/docs.css"></head>
<body><h1>Deck &amp; Shelf API ${escaped(version)}</h1>
<p>For machines: <a href="/api/openapi.json">OpenAPI 3.1</a>. Errors are problem documents (RFC 9457). Changes need <code>If-Match</code>;
every command takes an <code>Idempotency-Key</code>, and after no answer or 503 it can safely be sent again.</p>
<table>${rows(list)}</table>${parts.join("\n")}</body></html>`;
}

export const DOCS_CSS = `body{font:16px/1.5 system-ui,sans-serif;max-width:60rem;margin:2rem auto;padding:0 1rem;color:#1b1b1b;background:#fff}
code,pre{font:14px/1.4 ui-monospace,monospace}pre{overflow:auto;background:#f4f4f1;padding:.5rem}
table{border-collapse:collapse;width:100%;margin:.5rem 0}td{border-top:1px solid #ccc;padding:.3rem .6rem .3rem 0;vertical-align:top}
caption{text-align:left;font-weight:600}section{border-top:2px solid #555;margin-top:1.5rem}
@media (prefers-color-scheme:dark){body{color:#eee;background:#1c1c1a}pre{background:#2a2a27}a{color:#9cc8ff}}
`;
