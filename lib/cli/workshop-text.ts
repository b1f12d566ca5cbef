import type {CollectDocument, WorkshopDocument} from "../result/workshop-documents.ts";
import {summaryWords} from "./class-page.ts";
import {textTable} from "./output.ts";

/** What `simulate workshop` prints for people. */
export function workshopText({tables, instructor}: WorkshopDocument): string {
  const lines = tables.map(({folder, runs}) => `${folder}: ${runs} runs, sealed\n`);
  return `${lines.join("")}Hand each table its folder; keep ${instructor} and the keys beside it to yourself until all have handed in.\n`;
}

/** What `simulate collect` prints for people. */
export function collectText(document: CollectDocument): string {
  const print = (value: number | null | undefined) => (value == null ? "–" : value.toFixed(3));
  const rows = document.tables.map(({table, truth, verdict}) => [
    String(table),
    verdict ? print(truth) : "sealed",
    print(verdict?.estimate),
    verdict?.interval ? `${print(verdict.interval.low)} … ${print(verdict.interval.high)}` : "–",
    verdict?.covered == null ? "–" : verdict.covered ? "yes" : "no",
    verdict?.state ?? "none",
  ]);
  return [
    textTable(["table", "truth s", "estimate s", "interval s", "holds", "verdict"], rows, [0, 1, 2, 3]),
    ...summaryWords(document).map(words => `${words}\n`),
    ...document.problems.map(({words}) => `not counted: ${words}\n`),
    `Open ${document.page}\n`,
  ].join("");
}
