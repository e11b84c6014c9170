// Make each call with the types that openapi-typescript generates, and print what came back as JSON.
// Run by test_typescript.py: node calls.ts URL EXAMPLES
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import createClient from "openapi-fetch";
import type { components, paths } from "./schema.ts";

type Schemas = components["schemas"];
const [url, examples] = process.argv.slice(2);
const client = createClient<paths>({ baseUrl: url });
const example = (name: string) => JSON.parse(readFileSync(`${examples}/${name}.json`, "utf8"));
const sha256 = (bytes: ArrayBuffer) =>
  createHash("sha256").update(new Uint8Array(bytes)).digest("hex");
const clearance = { readings: ["4 1/2 in"] };

function answered<T>(answer: { data?: T; error?: unknown }): T {
  if (answer.data === undefined) throw new Error(JSON.stringify(answer.error));
  return answer.data;
}

const sizing = answered(await client.POST("/v1/sizing", { body: { clearance } }));
const materials = answered(
  await client.POST("/v1/materials", {
    body: { perimeter: "90 ft", clearance, joining: "ties" },
  }),
);
const suitability = answered(
  await client.POST("/v1/suitability", {
    body: { roof_covering: "asphalt_shingle", racking: "rail_mounted" },
  }),
);
const array: Schemas["LayoutRequest"] = example("layout-block");
const layout = answered(await client.POST("/v1/layout", { body: array }));
const drawing = answered(
  await client.POST("/v1/layout/drawing", { body: array, parseAs: "arrayBuffer" }),
);
const job: Schemas["QuoteRequest"] = example("quote-house");
const quote = answered(await client.POST("/v1/quote", { body: job }));
const sheet = answered(
  await client.POST("/v1/quote/crew-sheet", { body: job, parseAs: "arrayBuffer" }),
);
const batch = answered(
  await client.POST("/v1/quote/batch", {
    body: `${JSON.stringify(example("quote-sparse"))}\n{}\n`,
    bodySerializer: (lines) => lines,
    headers: { "content-type": "application/octet-stream" },
    parseAs: "text",
  }),
);
const { error: refusal } = await client.POST("/v1/sizing", {
  body: { clearance: { readings: ["4 1/2"] } },
});
if (refusal === undefined) throw new Error("A reading without a unit was taken.");

const packs: Record<string, number> = {};
for (const line of materials.result.lines) if (line.packs) packs[line.item] = line.packs.count;
console.log(
  JSON.stringify({
    sizing: sizing.result.strip.width?.text,
    materials: packs,
    suitability: suitability.result.verdict,
    layout: layout.result.pieces.map((piece) => piece.cut_length.text),
    drawing: sha256(drawing),
    quote: quote.result.price?.total,
    sheet: sha256(sheet),
    batch: batch.trimEnd().split("\n").map((line) => JSON.parse(line).status),
    refusal: [refusal.status, ...(refusal.errors ?? []).map((one) => one.pointer)],
  }),
);
