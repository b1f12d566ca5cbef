import assert from "node:assert/strict";
import {copyFileSync, mkdtempSync, readdirSync, readFileSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {describe, it} from "vitest";
import {testReport} from "../../lib/judge/report.ts";
import type {JudgeDocument} from "../../lib/result/documents.ts";
import type {GatherDocument} from "../../lib/result/gather-document.ts";
import type {PlanDocument} from "../../lib/result/plan-document.ts";
import type {RunSheet} from "../../lib/result/run-sheet.ts";
import {readSession} from "../../lib/run/session.ts";
import type {SealKey} from "../../lib/trial/seal.ts";
import {runMain} from "./run-main.ts";

/** Logs of a day whose order the lot draws from seed 4711, as `simulate` does. */
const demo = fileURLToPath(new URL("../../data-demo/intake-elbow/", import.meta.url));
const BEFORE = `# before the day
fairpull: 1
test: comparison
question: Does the smooth intake elbow shorten the pull?
primary: band-time
worthwhile: 0.15 s # fixed at the club
band: {from: 60 km/h, to: 110 km/h, gear: 3}
arms: {baseline: ribbed hose, changed: smooth elbow}
plan: {order: drift-balanced, runs: 12, seed: 4711}
runs: # to come
`;

/** Clock times of the runs of that day, from its session. */
const TIMES = [
  "13:11",
  "13:19",
  "13:27",
  "13:37",
  "13:45",
  "13:56",
  "14:05",
  "14:12",
  "14:23",
  "14:31",
  "14:40",
  "14:49",
];

/** A day of the demo: its logs, a planned session, and the sheet as it was filled in. */
async function day(...options: string[]): Promise<{folder: string; plan: PlanDocument; sheet: RunSheet}> {
  const folder = mkdtempSync(join(tmpdir(), "fairpull-sealed-"));
  writeFileSync(join(folder, "session.yaml"), BEFORE);
  const {out} = await runMain(folder, "plan", "session.yaml", "--sheet", "sheet.html", ...options, "--json");
  const plan = JSON.parse(out) as PlanDocument;
  assert.equal(plan.error, undefined);
  for (const file of readdirSync(demo))
    if (/^run-.*csv$/.test(file)) copyFileSync(join(demo, file), join(folder, file));
  const sheet: RunSheet = {
    format: "fairpull.sheet/1",
    locked: plan.plan!.locked!,
    saves: 1,
    saved: "2031-05-17T15:00:00.000Z",
    day: "dry",
    ticked: [],
    rows: [
      {run: null, arm: null, direction: "out", driven: true, isVoid: false, cells: {}},
      ...plan.plan!.schedule.map(({run, arm, direction}) => ({
        run,
        arm,
        direction,
        driven: true,
        isVoid: false,
        cells: {
          start: TIMES[run - 1],
          air: `${18 + run / 10}`.replace(".", ","),
          traffic: "none",
          remarks: `of "run" ${run}`,
        },
      })),
    ],
  };
  writeFileSync(join(folder, "sheet.json"), JSON.stringify(sheet));
  return {folder, plan, sheet};
}

async function gather(
  folder: string,
  ...sheets: string[]
): Promise<{document: GatherDocument; err: string; code: number}> {
  const args = sheets.flatMap(file => ["--sheet", file]);
  const {out, err, code} = await runMain(folder, "gather", ".", ...args, "--json");
  return {document: JSON.parse(out) as GatherDocument, err, code};
}

async function judge(
  folder: string,
  ...options: string[]
): Promise<{document: JudgeDocument; err: string; code: number}> {
  const {out, err, code} = await runMain(folder, "judge", "session.yaml", ...options, "--json");
  return {document: JSON.parse(out) as JudgeDocument, err, code};
}

const check = ({checks}: JudgeDocument, name: string) => checks.find(found => found.name === name)!;
const sessionOf = (folder: string) => readFileSync(join(folder, "session.yaml"), "utf8");

describe("a day from plan to verdict", () => {
  it("is gathered by its sheet, judged as the demo is, and kept to its plan", async () => {
    const {folder} = await day();
    const before = sessionOf(folder);
    const {document, err} = await gather(folder, "sheet.json");
    assert.equal(err, "");
    assert.equal(document.sheet!.by, "order");
    assert.match(document.sheet!.notes.join(), /as many as the sheet without its settling runs/);
    const text = sessionOf(folder);
    assert.ok(text.startsWith(before.replace(/^runs:.*\n/m, "").trimEnd()), text);
    const session = readSession(join(folder, "session.yaml"));
    assert.equal(session.runs[2].note, 'of "run" 3');
    assert.ok(Math.abs(session.runs[2].conditions.airTemperatureK! - (273.15 + 18.3)) < 1e-9);
    const {document: own} = await judge(folder);
    const {out} = await runMain(demo, "judge", "session.yaml", "--json");
    const reference = JSON.parse(out) as JudgeDocument;
    assert.deepEqual(own.effect.estimate, reference.effect.estimate);
    assert.deepEqual(own.verdict.state, reference.verdict.state);
    assert.equal(check(own, "kept to the plan").outcome, "held");
    assert.equal(testReport(session, own).planned.isPlanned, true);

    // no departure is accepted silently, in the judge and on the page
    writeFileSync(
      join(folder, "session.yaml"),
      text
        .replace("to: 110 km/h, gear", "to: 105 km/h, gear")
        .replace("arm: changed", 'arm: changed\n    exclude: "lorry"'),
    );
    const {document: other} = await judge(folder);
    const kept = check(other, "kept to the plan");
    assert.equal(kept.outcome, "doubtful");
    assert.match(
      kept.words,
      /the band was planned as .*110 km\/h.* and is .*105 km\/h.*run \d+ is left out \(lorry\)/,
    );
    assert.match(
      testReport(readSession(join(folder, "session.yaml")), other).planned.words,
      /not as planned: the band/,
    );
  });

  it("goes through sealed: plan, sheet, blind judge, open, and the page says blind", async () => {
    const {folder, plan} = await day("--seal", "key.json");
    const key = JSON.parse(readFileSync(join(folder, "key.json"), "utf8")) as SealKey & {words: string};
    assert.match(key.words, /A is (ribbed hose|smooth elbow), B is/);
    assert.match(sessionOf(folder), new RegExp(plan.seal!.commitment));
    assert.ok(!sessionOf(folder).includes(key.salt));
    assert.match(readFileSync(join(folder, "sheet.html"), "utf8"), new RegExp(plan.seal!.commitment));
    await gather(folder, "sheet.json");
    const blind = await judge(folder);
    assert.equal(blind.code, 0);
    assert.deepEqual([blind.document.arms.baseline.label, blind.document.arms.changed.label], ["A", "B"]);
    assert.ok(
      ["shown-different", "no-worthwhile-difference", "not-settled"].includes(blind.document.verdict.state),
    );
    assert.doesNotMatch(
      JSON.stringify(blind.document.verdict) + JSON.stringify(blind.document.arms),
      /ribbed|smooth elbow"|shown-(better|worse)/,
    );
    assert.match(check(blind.document, "sealed labels").words, /judged blind/);
    const closed = readSession(join(folder, "session.yaml"));
    assert.match(testReport(closed, blind.document).blind, /^blind: the labels are sealed/);

    const open = await judge(folder, "--open", "key.json");
    assert.equal(open.err, "");
    assert.equal(check(open.document, "sealed labels").outcome, "held");
    assert.match(check(open.document, "sealed labels").words, /as they were when the seal was opened/);
    assert.equal(check(open.document, "kept to the plan").outcome, "held");
    // letters stand for arms by lot: the estimate turns its sign where A is the part
    const sign = key.letters.A === "changed" ? -1 : 1;
    assert.ok(Math.abs(open.document.effect.estimate! - sign * blind.document.effect.estimate!) < 1e-9);
    assert.equal(open.document.arms.changed.label, "smooth elbow");
    const session = readSession(join(folder, "session.yaml"));
    const report = testReport(session, open.document);
    assert.match(report.blind, /^blind: the labels were sealed.*fit the commitment/);
    assert.equal(report.items.find(({id}) => id === "blinding")!.outcome, "met");
    // opening again changes nothing
    const text = sessionOf(folder);
    await judge(folder, "--open", "key.json");
    assert.equal(sessionOf(folder), text);

    // what is changed after opening is told
    writeFileSync(
      join(folder, "session.yaml"),
      text.replace("traffic: none", "traffic: a lorry").replace('traffic: "none"', 'traffic: "a lorry"'),
    );
    const changed = check((await judge(folder)).document, "sealed labels");
    assert.equal(changed.outcome, "doubtful");
    assert.match(changed.words, /changed after the seal was opened/);
    // and letters that are exchanged afterwards fail
    const [a, b] = key.letters.A === "changed" ? ["changed", "baseline"] : ["baseline", "changed"];
    const forged = text.replace(new RegExp(`A: ${a}, B: ${b}`), `A: ${b}, B: ${a}`);
    assert.notEqual(forged, text);
    writeFileSync(join(folder, "session.yaml"), forged);
    const {document} = await judge(folder);
    assert.equal(check(document, "sealed labels").outcome, "failed");
    assert.equal(document.verdict.state, "not-a-fair-test");
  });

  it("says in words that a key is lost, wrong, of another plan, or none", async () => {
    const {folder} = await day("--seal", "key.json");
    await gather(folder, "sheet.json");
    const text = sessionOf(folder);
    const key = JSON.parse(readFileSync(join(folder, "key.json"), "utf8")) as SealKey;
    const cases: [string, string | null, RegExp][] = [
      [
        "lost.json",
        null,
        /there is no key of this name; a lost key cannot be made again: the blind verdict stands/,
      ],
      ["salt.json", JSON.stringify({...key, salt: "0".repeat(64)}), /does not fit the commitment/],
      [
        "swapped.json",
        JSON.stringify({...key, letters: {A: key.letters.B, B: key.letters.A}}),
        /does not fit the commitment/,
      ],
      ["other.json", JSON.stringify({...key, locked: `sha256:${"0".repeat(64)}`}), /the key of another plan/],
      ["none.json", "hello", /it is not JSON/],
    ];
    for (const [name, content, message] of cases) {
      if (content !== null) writeFileSync(join(folder, name), content);
      const {code, err} = await judge(folder, "--open", name);
      assert.equal(code, 2);
      assert.match(err, message);
    }
    assert.equal(sessionOf(folder), text);
    const again = await runMain(folder, "plan", "session.yaml", "--seal", "key2.json");
    assert.match(again.err, /holds 12 runs already/);
    const open = await judge(demo, "--open", join(folder, "key.json"));
    assert.match(open.err, /the labels of this session are not sealed/);
  });

  it("states a sheet that was saved twice, is of another plan, empty, or does not match", async () => {
    const {folder, sheet} = await day();
    const later = {
      ...sheet,
      saves: 2,
      saved: "2031-05-17T16:00:00.000Z",
      rows: sheet.rows.map(row => (row.run === 3 ? {...row, cells: {...row.cells, air: "warm"}} : row)),
    };
    writeFileSync(join(folder, "later.json"), JSON.stringify(later));
    const write = (name: string, changed: object) =>
      writeFileSync(join(folder, name), JSON.stringify({...sheet, ...changed}));
    write("other.json", {locked: `sha256:${"1".repeat(64)}`});
    write("empty.json", {rows: sheet.rows.map(row => ({...row, driven: false}))});
    write("short.json", {rows: sheet.rows.slice(0, 9)});
    write("odd.json", {rows: []});
    const cases: [string, RegExp, number][] = [
      ["other.json", /the sheet is of the plan sha256:11111111/, 2],
      ["empty.json", /no row of the sheet is ticked as driven/, 1],
      ["short.json", /9 rows are ticked as driven, 8 of them counted, and the logs hold 12 runs/, 1],
      ["odd.json", /no file saved by a run sheet: rows/, 2],
      ["missing.json", /the run sheet cannot be read/, 2],
    ];
    const before = sessionOf(folder);
    for (const [name, message, expected] of cases) {
      const {err, code} = await gather(folder, name);
      assert.equal(code, expected, err);
      assert.match(err, message);
      assert.equal(sessionOf(folder), before);
    }
    const {document, err} = await gather(folder, "later.json", "sheet.json");
    assert.equal(err, "");
    assert.match(
      document.sheet!.notes[0],
      /saved twice: later.json, saved later, counts, and sheet.json is left aside; they differ in row 3/,
    );
    assert.match(document.sheet!.notes.join(), /"warm" under air is no number/);
    assert.match((await gather(folder, "sheet.json")).err, /holds runs already, and a sheet is merged once/);
  });
});
