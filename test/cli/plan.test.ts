import assert from "node:assert/strict";
import {mkdtempSync, readFileSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {Ajv2020} from "ajv/dist/2020.js";
import fc from "fast-check";
import {describe, it} from "vitest";
import {parse} from "yaml";
import {judgeRepeatabilitySession} from "../../lib/cli/judge-repeatability.ts";
import type {PlanDocument} from "../../lib/result/plan-document.ts";
import {jsonSchemas} from "../../lib/result/schemas/documents.ts";
import {readSession} from "../../lib/run/session.ts";
import {canonicalJson, sha256Text} from "../../lib/trial/seal.ts";
import {runMain} from "./run-main.ts";

const BEFORE = `# my test day
fairpull: 1
test: comparison
question: Does the larger duct shorten the pull?   # asked at the club
primary: band-time
worthwhile: 4 %

band: {from: 60 km/h, to: 110 km/h, gear: 3} # third
arms: {baseline: standard duct, changed: larger duct}
road: {access: closed, limit: 130 km/h}
`;
const validate = new Ajv2020().compile(jsonSchemas()["plan.json"]);

function folderWith(text: string): string {
  const folder = mkdtempSync(join(tmpdir(), "fairpull-plan-"));
  writeFileSync(join(folder, "session.yaml"), text);
  return folder;
}

async function plan(
  folder: string,
  ...args: string[]
): Promise<{document: PlanDocument; code: number; err: string}> {
  const {out, err, code} = await runMain(folder, "plan", "session.yaml", ...args, "--json");
  const document = JSON.parse(out) as PlanDocument;
  assert.ok(validate(JSON.parse(out)), JSON.stringify(validate.errors));
  return {document, code, err};
}

describe("fairpull plan", () => {
  it("chooses what is left open, draws an order and locks it; every line of the session stays", async () => {
    const folder = folderWith(BEFORE);
    const {document, code} = await plan(folder);
    assert.equal(code, 0);
    assert.equal(document.plan!.order, "drift-balanced");
    assert.equal(document.plan!.runs, 12);
    assert.equal(document.plan!.schedule.filter(({arm}) => arm === "changed").length, 6);
    const text = readFileSync(join(folder, "session.yaml"), "utf8");
    assert.ok(text.startsWith(BEFORE), text);
    const {plan: written, ...top} = parse(text);
    // As the guide writes the lock: canonical JSON of question, primary, worthwhile, band, arms, and plan without locked.
    const {locked, ...rest} = written;
    const {question, primary, worthwhile, band, arms} = top;
    assert.equal(locked, sha256Text(canonicalJson({question, primary, worthwhile, band, arms, plan: rest})));
    assert.equal(locked, document.plan!.locked);
    assert.equal(readSession(join(folder, "session.yaml"), {beforeRuns: true}).plan!.runs, 12);
  });
  it("takes 16 runs where 12 do not show the worthwhile difference, and says where even these do not", async () => {
    const few = await plan(folderWith(BEFORE.replace("4 %", "2.5 %")));
    assert.equal(few.document.plan!.runs, 16);
    const {document} = await plan(folderWith(BEFORE.replace("4 %", "1 %")));
    assert.equal(document.plan!.runs, 16);
    assert.ok(document.power!.runs_needed! > 16);
    assert.match(document.cautions.join(), /too small for the question/);
  });
  it("keeps comments, values and the order of keys where the session has a plan of its own", async () => {
    const folder = folderWith(`${BEFORE}plan: {order: abba, runs: 8} # as last year\nseed: 3 # mine\n`);
    const {document} = await plan(folder, "--seed", "4711", "--refit");
    const text = readFileSync(join(folder, "session.yaml"), "utf8");
    assert.deepEqual([document.plan!.order, document.plan!.runs, document.plan!.refit], ["abba", 8, true]);
    for (const comment of ["# my test day", "# asked at the club", "# third", "# as last year", "# mine"])
      assert.ok(text.includes(comment), comment);
    assert.deepEqual(Object.keys(parse(text)), [...Object.keys(parse(BEFORE)), "plan", "seed"]);
    assert.equal(
      document.cautions.some(words => /below 0.05 is out of reach/.test(words)),
      true,
    );
  });
  it("draws once: a locked plan is printed again and not changed", async () => {
    const folder = folderWith(BEFORE);
    const first = await plan(folder);
    const text = readFileSync(join(folder, "session.yaml"), "utf8");
    const second = await plan(folder, "--sheet", "sheet.html");
    assert.deepEqual(second.document.plan, first.document.plan);
    assert.equal(second.document.written, false);
    assert.equal(readFileSync(join(folder, "session.yaml"), "utf8"), text);
    const again = await plan(folder, "--seed", "5");
    assert.equal(again.code, 2);
    assert.match(again.err, /the plan is locked/);
    const sheet = await plan(folder, "--sheet", "sheet.html");
    assert.match(sheet.err, /--sheet overwrites nothing/);
    writeFileSync(join(folder, "session.yaml"), text.replace("seed: ", "seed: 1"));
    assert.match((await plan(folder)).err, /changed after it was locked/);
  });
  it("balances directions and limits changes as asked", async () => {
    const {document} = await plan(folderWith(BEFORE), "--both-ways", "--most-changes", "7");
    const {schedule, changes} = document.plan!;
    assert.ok(changes <= 7);
    for (const arm of ["baseline", "changed"])
      assert.equal(schedule.filter(run => run.arm === arm && run.direction === "out").length, 3);
    assert.ok(document.choices[0].orders! < 58);
  });
  it("relates seconds to per cent by a band time, or says that it cannot", async () => {
    const inSeconds = BEFORE.replace("4 %", "0.15 s");
    const {document} = await plan(folderWith(inSeconds));
    assert.equal(document.power!.worthwhile, null);
    assert.match(document.power!.words, /--band-time/);
    // By hand: 0.15 s of 5 s are 3 %.
    const related = await plan(folderWith(inSeconds), "--band-time", "5s");
    assert.ok(Math.abs(related.document.power!.worthwhile! - 3) < 1e-9);
  });
  it("takes the spread of a past session", async () => {
    const past = fileURLToPath(new URL("../../data-demo/intake-elbow/session.yaml", import.meta.url));
    const {document, err} = await plan(folderWith(BEFORE), "--from", past);
    assert.equal(err, "");
    assert.match(document.spread!.source, /residual spread of 12 runs/);
    assert.ok(document.spread!.value > 0.2 && document.spread!.value < 3);
  });
  it("takes the spread of identical runs, and says how well it is known", async () => {
    const past = fileURLToPath(new URL("../../data-demo/identical-runs/session.yaml", import.meta.url));
    const {document, err} = await plan(folderWith(BEFORE), "--from", past);
    assert.equal(err, "");
    assert.match(document.spread!.source, /^spread of 10 identical runs in .*; it could be 0\.7 to 1\.9 %$/);
    const {document: judged} = judgeRepeatabilitySession(past, {}, ".");
    assert.ok("repeatability" in judged);
    assert.ok(Math.abs(document.spread!.value - judged.repeatability.sd_percent!) < 1e-11); // 12 digits are printed
  });

  const PUBLIC = BEFORE.replace("access: closed, limit: 130 km/h", "access: public, limit: 100 km/h");
  it.each([
    [
      "a band above the limit of a public road",
      PUBLIC,
      [],
      /above the limit of 100 km\/h.*band: \{from: 45 km\/h, to: 95 km\/h\}, or take gear 2.*41 to 76/,
    ],
    [
      "a public road without its limit",
      BEFORE.replace("closed, limit: 130 km/h", "public"),
      [],
      /its limit is not given/,
    ],
    ["a spread of nothing", BEFORE, ["--spread", "0%"], /scatter between 0.05 % and 30 %/],
    ["an impossible spread", BEFORE, ["--spread", "80%"], /scatter between/],
    ["a spread that is no number", BEFORE, ["--spread", "much"], /--spread/],
    [
      "runs that the order does not deal",
      BEFORE,
      ["--runs", "13"],
      /deals a multiple of 4 runs, not 13; take 12 runs/,
    ],
    ["an order that is none", BEFORE, ["--order", "random"], /--order is "random"/],
    ["a typed order in two halves", BEFORE, ["--typed", "AAAABBBB"], /confounded with the time of day/],
    [
      "a typed order that alternates",
      BEFORE,
      ["--typed", "ABABABAB"],
      /confounded with the direction.*mean place of the arms is 4.0 and 5.0/,
    ],
    [
      "a typed order of good make",
      BEFORE,
      ["--typed", "ABBABAAB"],
      /typed, not drawn by lot.*drift-balanced, complete, blocks-of-4, abba, pairs could have dealt it/,
    ],
    ["limits that no order meets", BEFORE, ["--most-changes", "1"], /no order meets the limits asked/],
    [
      "a session with runs",
      `${BEFORE}runs:\n  - {file: a.csv, arm: baseline}\n  - {file: b.csv, arm: changed}\n`,
      [],
      /holds 2 runs already/,
    ],
    ["a chance of nothing", BEFORE, ["--chance", "1"], /a chance from 10 to 99.9 %/],
  ])("refuses %s and writes nothing", async (_, text, args, message) => {
    const folder = folderWith(text);
    const {document, code, err} = await plan(folder, ...args);
    assert.equal(code, 2);
    assert.match(err, message);
    assert.ok(document.error);
    assert.equal(readFileSync(join(folder, "session.yaml"), "utf8"), text);
  });
  it("says that 2 runs show nothing and that 0.1 % is for no day", async () => {
    const {document, code} = await plan(
      folderWith(BEFORE.replace("4 %", "0.1 %")),
      "--runs",
      "2",
      "--order",
      "pairs",
    );
    assert.equal(code, 0);
    assert.equal(document.power!.shows, null);
    assert.match(
      document.power!.words,
      /2 runs in this order give no interval.*no day of up to 120 runs.*do not bother/,
    );
  });
  it("answers any options with a document, and leaves a session that can be read", async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.subarray(
          [
            ["--runs", "8"],
            ["--order", "complete"],
            ["--both-ways"],
            ["--most-changes", "5"],
            ["--refit"],
            ["--spread", "0.09s"],
            ["--band-time", "6 s"],
            ["--chance", "95"],
          ],
          {minLength: 1},
        ),
        async options => {
          const folder = folderWith(BEFORE);
          const {code} = await plan(folder, ...options.flat());
          assert.ok(code === 0 || code === 2);
          readSession(join(folder, "session.yaml"), {beforeRuns: true});
        },
      ),
      {numRuns: 8, seed: 12},
    );
  });
});
