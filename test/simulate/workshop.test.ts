import assert from "node:assert/strict";
import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import fc from "fast-check";
import {afterAll, describe, it} from "vitest";
import {collectSchema, workshopSchema} from "../../lib/result/schemas/workshop.ts";
import type {CollectDocument, WorkshopDocument} from "../../lib/result/workshop-documents.ts";
import {judgeSimulatedDay} from "../../lib/simulate/judged-days.ts";
import {collectEvening} from "../../lib/simulate/workshop/collect.ts";
import {makeTables, readEvening} from "../../lib/simulate/workshop/evening.ts";
import {tableDay, tableScenario} from "../../lib/simulate/workshop/table-day.ts";
import {demoFolder} from "../../lib/templates/store.ts";
import {builtMain} from "../cli/built-main.ts";
import {runMain} from "../cli/run-main.ts";

const scratch = mkdtempSync(join(tmpdir(), "fairpull-workshop-"));
afterAll(() => rmSync(scratch, {recursive: true, force: true}));

const read = (...path: string[]) => readFileSync(join(...path), "utf8");
const below = (folder: string) => readdirSync(folder, {recursive: true}).map(String).sort();

async function judgeTo(folder: string, file = "verdict.json", ...more: string[]): Promise<void> {
  const {out} = await runMain(folder, "judge", "session.yaml", "--json", ...more);
  writeFileSync(join(folder, file), out);
}

async function collect(folder: string): Promise<{document: CollectDocument; code: number; err: string}> {
  const {out, code, err} = await builtMain(folder, "simulate", "collect", ".", "--json");
  return {document: collectSchema.parse(JSON.parse(out)), code, err};
}

describe("the tables of a workshop", () => {
  it("are dealt four parts that do nothing among each eight, whatever the seed", () => {
    fc.assert(
      fc.property(fc.nat(1e6), fc.constantFrom(0, 8, 16), (seed, first) => {
        const powers = Array.from(
          {length: 8},
          (_, i) => tableScenario({seed, table: first + i + 1}).scenario.part.power,
        );
        assert.deepEqual(
          powers.sort((a, b) => a - b),
          [-0.03, 0, 0, 0, 0, 0.015, 0.03, 0.03],
        );
      }),
      {seed: 1, numRuns: 60},
    );
  });

  it("are the same whoever makes them, and differ by table and seed", () => {
    const text = tableDay({seed: 5, table: 7}).text;
    assert.equal(tableDay({seed: 5, table: 7}).text, text);
    assert.notEqual(tableDay({seed: 6, table: 7}).text, text);
    assert.notEqual(tableDay({seed: 5, table: 6}).text, text);
    assert.throws(() => tableScenario({seed: 1, table: 0}), /tables are numbered 1 to 99, but this is 0/);
  });

  it("are made with --table and --tables; nothing of the truth is in the students' folders", async () => {
    const folder = join(scratch, "made");
    const {out, code} = await runMain(
      scratch,
      "simulate",
      "workshop",
      "made",
      "--table",
      "7",
      "--seed",
      "5",
      "--json",
    );
    assert.equal(code, 0);
    const document: WorkshopDocument = workshopSchema.parse(JSON.parse(out));
    assert.deepEqual(
      document.tables.map(({table, runs}) => [table, runs]),
      [[7, 12]],
    );
    const {
      tables: [truth],
    } = readEvening(folder, "made");
    const salt = JSON.parse(read(folder, "instructor", "table-07-key.json")).salt as string;
    for (const file of below(join(folder, "table-07"))) {
      const text = read(folder, "table-07", file);
      assert.ok(!text.includes(salt) && !text.includes(String(truth.effect.value)), file);
      assert.doesNotMatch(text, /relative_power|power_factor|"letters"/, file);
    }
    assert.ok(!out.includes(String(truth.effect.value)));
    assert.match(read(folder, "table-07", "notebook.ipynb"), /session: \\"session\.yaml\\"/);
    assert.match(read(folder, "table-07", "notebook.ipynb"), /handIn: \\"verdict\.json\\"/);
  });

  it("are judged blind to what the library's own judge says of them, and opened with their key", async () => {
    const folder = join(scratch, "made", "table-07");
    await judgeTo(folder);
    const verdict = JSON.parse(read(folder, "verdict.json"));
    const {scenario, seed} = tableScenario({seed: 5, table: 7});
    const {interval} = judgeSimulatedDay(scenario, seed);
    const sign = scenario.lettersSwapped ? -1 : 1;
    const ends = [sign * interval!.low, sign * interval!.high].sort((a, b) => a - b);
    assert.deepEqual(
      [verdict.effect.interval.low, verdict.effect.interval.high].map(end => end.toFixed(9)),
      ends.map(end => end.toFixed(9)),
    );
    const held = (name: string, checks: {name: string; outcome: string}[]) =>
      checks.find(check => check.name === name)!.outcome;
    assert.equal(held("kept to the plan", verdict.checks), "held");
    assert.equal(held("sealed labels", verdict.checks), "held");
    const blind = collectEvening(join(scratch, "made")).tables[0].verdict!;
    assert.equal(blind.blind, true);
    cpSync(join(scratch, "made"), join(scratch, "opened"), {recursive: true});
    const opened = join(scratch, "opened", "table-07");
    await judgeTo(opened, "verdict.json", "--open", "../instructor/table-07-key.json");
    const open = collectEvening(join(scratch, "opened")).tables[0].verdict!;
    assert.equal(open.blind, false);
    assert.deepEqual(open.interval, blind.interval);
    assert.equal(open.covered, blind.covered);
  });

  it("refuse a folder with something else, a table twice and another seed, and touch nothing", async () => {
    mkdirSync(join(scratch, "full"));
    writeFileSync(join(scratch, "full", "mine.txt"), "mine");
    const before = below(join(scratch, "made"));
    const errors: [string[], RegExp][] = [
      [["full", "--table", "1"], /full: is not empty, and no evening of a workshop: it holds "mine\.txt"/],
      [
        ["made", "--table", "7"],
        /table 7 has its test day already, and nothing is overwritten; two tables of one number/,
      ],
      [["made", "--tables", "8"], /table 7 has its test day already/],
      [["made", "--table", "8", "--seed", "6"], /the evening in this folder has another seed than 6/],
      [["made"], /no table was named; give --table 7 for one table/],
      [["made", "--table", "100"], /--table is 100, but a number from 1 to 99 is needed/],
    ];
    for (const [args, message] of errors) {
      const {code, err} = await runMain(scratch, "simulate", "workshop", ...args);
      assert.equal(code, 2);
      assert.match(err, message);
    }
    assert.deepEqual(below(join(scratch, "made")), before);
    assert.deepEqual(below(join(scratch, "full")), ["mine.txt"]);
  });

  it("are committed once, as practice table of the last lesson, from seed 1", () => {
    const folder = join(scratch, "practice");
    makeTables(folder, [1], {seed: 1});
    const demo = join(demoFolder(), "workshop");
    assert.deepEqual(below(folder), below(demo));
    for (const file of below(demo).filter(name => name.includes(".")))
      assert.equal(read(demo, file), read(folder, file), file);
  });
});

describe("collecting an evening", () => {
  const folder = join(scratch, "evening");
  const table = (number: number) => join(folder, `table-0${number}`);

  it("draws every interval against every truth, and says who has not handed in", async () => {
    makeTables(folder, [1, 2, 3, 4], {seed: 11});
    for (const number of [1, 2, 3]) await judgeTo(table(number));
    const {document, code} = await collect(folder);
    assert.equal(code, 0);
    assert.deepEqual(
      document.tables.map(({verdict}) => verdict !== null),
      [true, true, true, false],
    );
    assert.deepEqual(
      document.problems.map(({code: what, table: of}) => [what, of]),
      [["verdict-missing", 4]],
    );
    const {summary} = document;
    assert.equal(summary!.verdicts, 3);
    assert.equal(summary!.null_verdicts + summary!.other_verdicts, 3);
    const page = read(folder, "class.html");
    assert.match(page, /<b>Figure 1\.<\/b>/);
    assert.match(page, /alt="Intervals against truths, in s: table 1 truth/);
    assert.match(page, /3 of 4 tables handed in/);
    assert.match(page, /table 4 no verdict yet/);
    assert.match(page, /<td[^>]*>sealed<\/td>/); // table 4 may still be judging
    for (const [, address] of page.matchAll(/(?:src|href|srcset)="([^"]+)"/g))
      assert.match(address, /^(data:|#)/);
    const again = await collect(folder); // its own page may be replaced
    assert.equal(again.code, 0);
    writeFileSync(join(folder, "class.html"), "mine");
    const refused = await collect(folder);
    assert.equal(refused.code, 2);
    assert.match(refused.err, /class\.html: this file is there and is no class picture/);
    assert.equal(read(folder, "class.html"), "mine");
    rmSync(join(folder, "class.html"));
  });

  it("does not count a table that changed a log, twice-given numbers, foreign and broken files; and says which", async () => {
    // a log changed after it was handed out
    const log = join(table(4), "run-03.csv");
    writeFileSync(
      log,
      read(log).replace(/(\d)\n/, (_, digit: string) => `${(Number(digit) + 1) % 10}\n`),
    );
    await judgeTo(table(4));
    // two verdicts of table 2 that differ: two students with one number, one of whom left a run out
    cpSync(table(2), join(folder, "second table 2"), {recursive: true});
    const session = join(folder, "second table 2", "session.yaml");
    writeFileSync(
      session,
      read(session).replace("{file: run-02.csv,", '{file: run-02.csv, exclude: "lifted",'),
    );
    await judgeTo(join(folder, "second table 2"));
    // a verdict of another evening, a broken file, a note
    makeTables(join(scratch, "other"), [1], {seed: 99});
    await judgeTo(join(scratch, "other", "table-01"));
    const foreign = JSON.parse(read(scratch, "other", "table-01", "verdict.json"));
    writeFileSync(join(folder, "foreign.json"), JSON.stringify({...foreign, question: "Another?"}));
    writeFileSync(join(folder, "broken.json"), "{");
    writeFileSync(join(folder, "note.json"), '{"words": "pizza at nine"}');
    const {document} = await collect(folder);
    assert.deepEqual(
      document.tables.map(({verdict}) => verdict !== null),
      [true, false, true, false],
    );
    const found = document.problems.map(({code, table: of}) => [code, of]);
    assert.deepEqual(found, [
      ["verdict-twice", 2],
      ["data-changed", 4],
      ["not-a-verdict", null],
      ["verdict-foreign", null],
    ]);
    assert.match(
      document.problems[1].words,
      /table 4 judged other data than it was given \(run-03\.csv changed/,
    );
    assert.match(read(folder, "class.html"), /What does not count/);
  });

  it("counts a verdict once that was handed in twice, and reads one in UTF-16", async () => {
    rmSync(join(folder, "second table 2"), {recursive: true});
    writeFileSync(
      join(folder, "copy.json"),
      Buffer.from(`\ufeff${read(table(2), "verdict.json")}`, "utf16le"),
    );
    const {document} = await collect(folder);
    assert.ok(document.tables[1].verdict);
    assert.ok(!document.problems.some(({table: of}) => of === 2));
  });

  it("needs an instructor's file and a verdict", async () => {
    const none = await runMain(scratch, "simulate", "collect", "full");
    assert.equal(none.code, 2);
    assert.match(none.err, /truths\.json: the instructor's file cannot be read \(ENOENT\)/);
    makeTables(join(scratch, "early"), [1], {seed: 3});
    const {document, code} = await collect(join(scratch, "early"));
    assert.equal(code, 1);
    assert.equal(document.problems[0].code, "verdict-missing");
    assert.ok(existsSync(join(scratch, "early", "class.html")));
  });
});
