import assert from "node:assert/strict";
import {readFileSync, writeFileSync} from "node:fs";
import {fileURLToPath} from "node:url";
import {it} from "vitest";
import {COVERAGE_METHODS} from "../../lib/simulate/coverage.ts";
import {coverageCases, NOT_PROMISED, planWords} from "../../lib/simulate/coverage-cases.ts";
import {coverageTableText} from "../../lib/simulate/coverage-table.ts";
import {inThreads} from "../../lib/simulate/threads.ts";
import {withTable} from "./coverage-markdown.ts";
import {percent} from "./days.ts";

const ROOT = new URL("../../", import.meta.url);
const TABLE = fileURLToPath(new URL("data-demo/coverage-table.json", ROOT));
const PAGE = fileURLToPath(new URL("DEVELOPERS.md", ROOT));
const DAYS = 10_000;
const SEED = 4711;
/** What the default has to cover, under every noise that is promised. */
const LEAST = 0.935;
const LEVEL = 0.95;

it(`measures every interval on ${DAYS} days of each plan and noise, and writes the table`, async () => {
  const start = performance.now();
  const cases = coverageCases();
  const options = {days: DAYS, seed: SEED, level: LEVEL};
  const rows = await inThreads(
    "coverage",
    cases.map(from => ({from, options})),
    {
      onResult: ({methods, too_few, ...from}) => {
        const found = COVERAGE_METHODS.map(method => {
          const own = methods[method];
          if (own === null) return `${method} —`;
          return `${method} ${percent(own.covered, own.days)}, false ${percent(own.false_alarms, own.days)}, width ${own.median_width.toFixed(2)}`;
        });
        const name = `${planWords(from)}, spread ${100 * from.spread} %, ${from.noise}, seed ${SEED}`;
        console.log(`${name}: ${too_few ?? found.join("; ")}`);
      },
    },
  );
  console.log(`the table took ${((performance.now() - start) / 1000).toFixed(0)} s`);
  writeFileSync(TABLE, coverageTableText({format: "fairpull.coverage/1", seed: SEED, level: LEVEL, rows}));
  writeFileSync(PAGE, withTable(readFileSync(PAGE, "utf8"), rows));
  for (const {methods, noise, ...from} of rows) {
    if (methods.t === null || NOT_PROMISED.includes(noise)) continue;
    assert.ok(methods.t.covered >= LEAST, `${planWords(from)}, ${noise}: ${methods.t.covered}`);
  }
});
