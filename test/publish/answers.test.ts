import assert from "node:assert/strict";
import {cpSync, mkdirSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {mkdtemp, rm} from "node:fs/promises";
import {tmpdir} from "node:os";
import path from "node:path";
import {fileURLToPath} from "node:url";
import {JSDOM} from "jsdom";
import {afterAll, beforeAll, describe, it} from "vitest";
import {publishIndex} from "../../lib/dist/publish/index-page.js";
import {type PublishedPage, publishNotebook} from "../../lib/dist/publish/publish.js";
import {verifyPage} from "../../lib/dist/publish/verify.js";
import {judgeCoastdown} from "../../lib/judge/coastdown.ts";
import {notebookText} from "../../lib/notebook/write.ts";
import {cardOf, headline} from "../../lib/publish/answer-card.ts";
import {runsCsv} from "../../lib/publish/download.ts";
import {verdictSvg} from "../../lib/publish/share.ts";
import {publishSchema} from "../../lib/result/schemas/notebook.ts";
import {verifySchema} from "../../lib/result/schemas/verify.ts";
import {readCoastdownSession} from "../../lib/run/coastdown-session.ts";
import {cardText} from "../../lib/tables/verdict-card.ts";
import {notebookOf} from "../kernel/notebook-of.ts";

const demo = (name: string) => fileURLToPath(new URL(`../../data-demo/${name}`, import.meta.url));
/** Cells of a page of each kind; their last one is the card. */
const CELLS = {
  coastdown: [
    'import * as fp from "fairpull";\nconst result = fp.judgeCoastdown(fp.readCoastdownSession("../coastdown/session.yaml"));\nfp.roadLoadTable(result)',
    "fp.coastdownResiduals(result)",
    "fp.checksTable(result)",
    "fp.verdictCard(result)",
  ],
  "identical-runs": [
    'import * as fp from "fairpull";\nconst result = fp.judgeRepeatability(fp.readRepeatabilitySession("../identical-runs/session.yaml"));\nfp.checksTable(result)',
    "fp.verdictCard(result)",
  ],
};
type Kind = keyof typeof CELLS;

let folder: string;
const pages = {} as Record<Kind, PublishedPage>;
const at = (...names: string[]) => path.join(folder, ...names);
const textOf = (kind: Kind) => readFileSync(at(`${kind}.html`), "utf8");

beforeAll(async () => {
  folder = await mkdtemp(path.join(tmpdir(), "fairpull answers "));
  mkdirSync(at("notebook"));
  for (const kind of Object.keys(CELLS) as Kind[]) {
    cpSync(demo(kind), at(kind), {recursive: true});
    const file = at("notebook", `${kind}.ipynb`);
    writeFileSync(file, notebookText(notebookOf(...CELLS[kind])));
    pages[kind] = await publishNotebook(file, {out: at(`${kind}.html`)});
  }
});
afterAll(() => rm(folder, {recursive: true}));

async function verify(kind: Kind, change: (html: string) => string = html => html, data = at(kind)) {
  writeFileSync(at("changed.html"), change(textOf(kind)));
  return verifySchema.parse(await verifyPage(at("changed.html"), {data}));
}

describe("a page of coastdowns", () => {
  it("opens with the terms, their intervals, runs, and what they do not say", () => {
    const {document} = new JSDOM(textOf("coastdown")).window;
    const card = document.querySelector("#verdict")!;
    assert.equal(card.querySelector(".state")!.textContent, "Road load found");
    const rows = new Map(
      [...card.querySelectorAll("dl > div")].map(row => [
        row.querySelector("dt")!.textContent,
        row.querySelector("dd")!.textContent!,
      ]),
    );
    assert.match(rows.get("Drag")!, /^CdA 0\.647 m² \(0\.621 to 0\.672\)$/);
    assert.match(rows.get("Rolling")!, /^Crr 0\.01141 \(0\.01130 to 0\.01152\)$/);
    assert.match(rows.get("Runs")!, /8 coastdowns, 4 out and 4 back; 0 left out/);
    assert.match(rows.get("Checks")!, /4 of 4 held/);
    assert.match(rows.get("Not said")!, /1 % of mass is 1 % of every force/);
    assert.match(pages.coastdown.verdict!, /^Road load found: CdA 0\.647 m²/);
    assert.equal(document.querySelector("#report"), null);
    assert.match(document.querySelector("#provenance")!.textContent!, /fairpull verify PAGE/);
  });

  it("is computed again: the result, figures and tables", async () => {
    const {outcome, words, recomputed, not_recomputed} = await verify("coastdown");
    assert.deepEqual([outcome, words, not_recomputed], ["same", "recomputed: same", []]);
    assert.deepEqual(recomputed, ["result", "road-load", "coastdown-residuals", "checks"]);
  });

  it("is found out by one digit, one byte of a log, and a log that is missing", async () => {
    const digit = await verify("coastdown", html => html.replace("CdA 0.647 m²", "CdA 0.641 m²"));
    assert.equal(digit.outcome, "differs");
    assert.match(digit.words, /page "0\.641", recomputed "0\.647"/);
    const copy = at("other");
    cpSync(demo("coastdown"), copy, {recursive: true});
    const log = path.join(copy, "coast-03.csv");
    const bytes = readFileSync(log);
    bytes[bytes.length - 20] ^= 1;
    writeFileSync(log, bytes);
    const byte = await verify("coastdown", undefined, copy);
    assert.equal(byte.outcome, "inputs-differ");
    assert.match(byte.words, /inputs differ: coast-03\.csv/);
    rmSync(log);
    assert.match((await verify("coastdown", undefined, copy)).words, /cannot run: coast-03\.csv is missing/);
  });

  it("names the runs left out with their reasons, and doubts the terms where a check failed", () => {
    const session = readCoastdownSession(at("coastdown", "session.yaml"));
    const runs = session.runs.map((run, i) => (i === 0 ? {...run, exclude: "a car <ahead>"} : run));
    const result = judgeCoastdown({...session, runs, warmUpS: 300});
    assert.deepEqual(result.excluded, [{run: 1, file: "coast-01.csv", reason: "a car <ahead>"}]);
    assert.equal(result.state, "in-doubt");
    const card = cardOf(result, null);
    assert.match(card, /Road load in doubt/);
    assert.match(card, /In doubt: warm up: 5 minutes of driving/);
    assert.match(card, /run 1: excluded: a car &lt;ahead&gt;/);
    assert.match(cardText(result), /Runs: 7 used; left out: run 1 \(excluded: a car <ahead>\)/);
    assert.match(runsCsv(result), /1,coast-01\.csv,out,no,,,,,excluded: a car <ahead>/);
    const few = judgeCoastdown({...session, runs: session.runs.slice(0, 4)});
    assert.deepEqual([few.state, headline(few).state], ["too-few-runs", "Too few runs"]);
    assert.match(headline(few).numbers!, /^CdA 0\.\d{3} m², Crr 0\.\d{5}$/); // no interval is made up
  });
});

describe("a page of identical runs", () => {
  it("opens with the spread and what it could show, and is computed again", async () => {
    const card = new JSDOM(textOf("identical-runs")).window.document.querySelector("#verdict")!;
    assert.equal(card.querySelector(".state")!.textContent, "Spread of identical runs");
    assert.match(card.textContent!, /spread 0\.058 s \(1\.0 %\), interval 0\.040 to 0\.107 s, 95 %/);
    assert.match(card.textContent!, /Two runs ?differ by less than 0\.164 s 95 times in 100/);
    assert.match(card.textContent!, /These runs say nothing of a part/);
    const same = await verify("identical-runs");
    assert.deepEqual([same.words, same.recomputed], ["recomputed: same", ["result", "checks"]]);
  });
});

describe("pages of all kinds", () => {
  it("stand in one index, each with its answer", async () => {
    const out = await publishIndex([pages.coastdown, pages["identical-runs"]], {out: at("index.html")});
    const {document} = new JSDOM(readFileSync(out, "utf8")).window;
    assert.deepEqual(
      [...document.querySelectorAll(".pages .state")].map(({textContent}) => textContent),
      ["Road load found.", "Spread of identical runs."],
    );
    assert.deepEqual(
      [...document.querySelectorAll("#state option")].map(option => option.getAttribute("value")),
      ["", "road-load-found", "spread-found"],
    );
  });

  it("fit the schema of publish, and can be posted as a picture", () => {
    for (const {page, title, verdict, result} of Object.values(pages)) {
      publishSchema.parse({
        format: "fairpull.publish/1",
        pages: [{notebook: "n.ipynb", page, title, verdict, result: JSON.parse(JSON.stringify(result))}],
      });
      const svg = verdictSvg(result!, null);
      const drawn = new JSDOM(svg, {contentType: "image/svg+xml"}).window.document;
      assert.ok(drawn.querySelector("title")!.textContent!.includes(headline(result!).state));
    }
  });
});
