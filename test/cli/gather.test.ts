import assert from "node:assert/strict";
import {
  copyFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from "node:fs";
import {tmpdir} from "node:os";
import {join, resolve} from "node:path";
import {fileURLToPath} from "node:url";
import {afterAll, describe, it} from "vitest";
import {parse} from "yaml";
import {gatherSchema} from "../../lib/result/schemas/gather.ts";
import {loadDay} from "../../lib/run/day.ts";
import {readSession} from "../../lib/run/session.ts";
import {assertClose} from "../assert-close.ts";
import {runMain} from "./run-main.ts";

const demo = fileURLToPath(new URL("../../data-demo/intake-elbow/", import.meta.url));
const scratch = mkdtempSync(join(tmpdir(), "fairpull-cli-gather-"));
afterAll(() => rmSync(scratch, {recursive: true, force: true}));

const typed = (...args: string[]) => runMain(scratch, "gather", ...args);

/** A new folder with copies of some demo logs. */
function logsFolder(name: string, count = 12): string {
  const folder = join(scratch, name);
  mkdirSync(folder);
  const files = readdirSync(demo).filter(file => file.endsWith(".csv"));
  for (const file of files.slice(0, count)) copyFileSync(join(demo, file), join(folder, file));
  return folder;
}

/** A draft with everything filled in, the arms as in the demo. */
function filled(draft: string, arms: string[]): string {
  let run = 0;
  return draft
    .replace('question: ""', "question: Does it?")
    .replace('worthwhile: ""', "worthwhile: 0.15 s")
    .replace('{baseline: "", changed: ""}', "{baseline: hose, changed: elbow}")
    .replace(/arm: # baseline or changed/g, () => `arm: ${arms[run++]}`);
}

describe("fairpull gather", () => {
  it("rebuilds the runs of the demo session from its logs alone", async () => {
    const folder = logsFolder("demo");
    const {err, code} = await typed("demo", "--json");
    assert.deepEqual([err, code], ["", 0]);
    const draft = readFileSync(join(folder, "session.yaml"), "utf8");
    const original = readSession(join(demo, "session.yaml"));
    const day = loadDay(original);

    // what no log tells is left to fill in, and reading refuses it in turn
    const written = parse(draft);
    assert.deepEqual(
      [written.question, written.worthwhile, written.arms, written.plan, written.vehicle],
      ["", "", {baseline: "", changed: ""}, undefined, undefined],
    );
    assert.ok(written.runs.every((run: {arm: unknown}) => run.arm === null));
    assert.throws(() => readSession(join(folder, "session.yaml")), /line \d+.*question: is left to fill in/);

    // the rest is there: file, span, direction (no engine is logged, so no gear), and every pass to 0.001 s
    const arms = original.runs.map(({arm}) => arm);
    writeFileSync(join(folder, "filled.yaml"), filled(draft, arms));
    const session = readSession(join(folder, "filled.yaml"));
    const facts = (runs: typeof session.runs) =>
      runs.map(({file, fromS, toS, direction, arm, gear}) => ({file, fromS, toS, direction, arm, gear}));
    assert.deepEqual(facts(session.runs), facts(original.runs));
    assert.deepEqual({...session.band, gear: 3}, original.band); // suggested, not given
    const passes = (runs: typeof day.runs) =>
      runs.map(({pass}) => [pass!.startS.toFixed(3), pass!.elapsedS.toFixed(3)]);
    assert.deepEqual(passes(loadDay(session).runs), passes(day.runs));
  });

  it("prints one JSON document that says what was found, guessed and passed over", async () => {
    const folder = logsFolder("json", 3);
    writeFileSync(join(folder, "notes.txt"), "the wind came up at four\n");
    const {out, code} = await typed("json", "--from", "70km/h", "--to", "100km/h", "--json");
    const document = gatherSchema.parse(JSON.parse(out));
    assert.equal(code, 0);
    assert.deepEqual(document.band, {from: 70, to: 100, unit: "km/h", guessed: false});
    assert.deepEqual([document.session, document.page], ["json/session.yaml", "json/session-runs.html"]);
    assert.deepEqual(
      document.runs.map(({run, file, direction, span_written}) => [run, file, direction, span_written]),
      [1, 2, 3].map(run => [run, `run-0${run}.csv`, "out", false]),
    );
    assert.ok(document.runs.every(({pass}) => pass !== null && pass.elapsed_s > 2.5 && pass.elapsed_s < 4));
    assert.deepEqual(
      document.skipped.map(({file}) => file),
      ["notes.txt"],
    );
    assert.ok(document.guesses.some(({what, chosen}) => what === "direction" && /heading 74°/.test(chosen)));
    assert.ok(document.guesses.every(({what}) => what !== "band"));
  });

  it("writes a schema line that leads to the schema, and a page with a picture a run", async () => {
    logsFolder("page", 2);
    const {out} = await typed("page", "-o", "elsewhere.yaml");
    assert.match(out, /2 runs; wrote elsewhere\.yaml and elsewhere-runs\.html; next: fill in question/);
    assert.match(out, /guessed \(weak\): band: 60 to 110 km\/h, the widest band/);
    const draft = readFileSync(join(scratch, "elsewhere.yaml"), "utf8");
    const [, schema] = /^# yaml-language-server: \$schema=(\S+)\n/.exec(draft)!;
    assert.match(
      JSON.parse(readFileSync(resolve(scratch, decodeURI(schema)), "utf8")).title,
      /session file, version 1/,
    );
    assert.deepEqual(
      parse(draft).runs.map((run: {file: string}) => run.file),
      ["page/run-01.csv", "page/run-02.csv"],
    );
    const page = readFileSync(join(scratch, "elsewhere-runs.html"), "utf8");
    assert.equal(page.match(/<svg /g)!.length, 2);
    assert.equal(page.match(/class="band"/g)!.length, 2);
    assert.doesNotMatch(page, /NaN|Infinity|https?:/);
  });

  it("never overwrites", async () => {
    const folder = logsFolder("kept", 1);
    writeFileSync(join(folder, "session.yaml"), "mine\n");
    const {err, code} = await typed("kept");
    assert.equal(code, 2);
    assert.match(err, /kept\/session\.yaml: this file is there already, .*name another session file with -o/);
    assert.equal(readFileSync(join(folder, "session.yaml"), "utf8"), "mine\n");
    assert.ok(!existsSync(join(folder, "session-runs.html")));
    assert.equal((await typed("kept", "-o", "kept/other.yaml")).code, 0);
    assert.equal((await typed("kept", "-o", "kept/other.yaml")).code, 2);
  });

  it("says why of everything in a folder of junk, copies and link loops", async () => {
    const folder = logsFolder("junk", 1);
    mkdirSync(join(folder, "deep", ".cache"), {recursive: true});
    copyFileSync(join(demo, "run-02.csv"), join(folder, "deep", "run-02.csv"));
    copyFileSync(join(demo, "run-01.csv"), join(folder, "run-01 (copy).csv"));
    symlinkSync("..", join(folder, "deep", "up"));
    symlinkSync("self", join(folder, "self"));
    symlinkSync("nowhere", join(folder, "dangling"));
    symlinkSync("deep/run-02.csv", join(folder, "z-link.csv"));
    writeFileSync(join(folder, "empty.csv"), "");
    writeFileSync(join(folder, "photo.csv"), Uint8Array.of(0xff, 0xd8, 0xff, 0xe0, 0, 16, 0, 0, 1, 2));
    const {out, code} = await typed("junk", "--json");
    assert.equal(code, 0);
    const {runs, skipped} = gatherSchema.parse(JSON.parse(out));
    assert.deepEqual(
      runs.map(run => run.file),
      ["deep/run-02.csv", "run-01 (copy).csv"],
    );
    const reason = (file: string) => skipped.find(entry => entry.file === file)!.reason;
    assert.match(reason("deep/up"), /a link to the folder itself, which is looked at already/);
    assert.match(reason("self"), /leads back to itself/);
    assert.match(reason("dangling"), /nothing there/);
    assert.match(reason("z-link.csv"), /a link to deep\/run-02\.csv/);
    assert.match(reason("run-01.csv"), /same bytes as run-01 \(copy\)\.csv/);
    assert.match(reason("deep/.cache"), /hidden/);
    assert.match(reason("empty.csv"), /empty/);
    assert.match(reason("photo.csv"), /image|picture|JPEG/i);
    assert.equal(skipped.length, 8);
  });

  it("ends with 1 and writes nothing where there is no log or no run, with 2 where the folder is wrong", async () => {
    mkdirSync(join(scratch, "bare"));
    const bare = await typed("bare", "--json");
    assert.equal(bare.code, 1);
    assert.equal(gatherSchema.parse(JSON.parse(bare.out)).error!.code, "no-logs");
    writeFileSync(join(scratch, "bare", "a.txt"), "no log\n");
    assert.match((await typed("bare")).err, /no file in it can be read as a log; .*a\.txt: /);
    const still = Array.from({length: 60}, (_, i) => `${i},50.0`).join("\n");
    writeFileSync(join(scratch, "bare", "steady.csv"), `time [s],speed [km/h]\n${still}\n`);
    assert.match((await typed("bare")).err, /no pull was found in 1 log/);
    assert.deepEqual(readdirSync(join(scratch, "bare")), ["a.txt", "steady.csv"]);
    logsFolder("low", 1);
    const low = await typed("low", "--from", "150km/h", "--to", "180km/h");
    assert.match(low.err, /1 run was found, but none is a pull through 150 to 180 km\/h; give another band/);
    assert.equal(low.code, 1);

    const wrong = async (pattern: RegExp, ...args: string[]) => {
      const {err, code} = await typed(...args);
      assert.equal(code, 2, err);
      assert.match(err, pattern);
    };
    await wrong(/there is nothing there; check the path/, "missing");
    await wrong(/this is a file, a folder of logs is needed/, "low/run-01.csv");
    await wrong(/--to is missing/, "low", "--from", "60km/h");
    await wrong(/the band falls from 110km\/h to 60km\/h/, "low", "--from", "110km/h", "--to", "60km/h");
    await wrong(/missing required argument/);
  });
  it("writes down the rate and the gap it was told, so that the session can be judged", async () => {
    const folder = join(scratch, "untimed");
    mkdirSync(folder);
    // 10 Hz without a time column: 40 km/h, then 6 km/h a second; 60 to 100 km/h in 20/3 s
    const pull = Array.from({length: 160}, (_, i) => (i < 30 ? 40 : Math.min(120, 40 + 0.6 * (i - 30))));
    for (const name of ["one.csv", "two.csv"]) {
      const rows = pull.map(kmh => `${kmh.toFixed(2)},${name === "one.csv" ? 1 : 2}`);
      writeFileSync(join(folder, name), `Speed [km/h],Lap\n${rows.join("\n")}\n`);
    }
    // one that tells its time keeps it
    const timed = pull.map((kmh, i) => `${(i / 8).toFixed(3)},${kmh.toFixed(2)}`);
    writeFileSync(join(folder, "timed.csv"), `Time [s],Speed [km/h]\n${timed.join("\n")}\n`);
    const band = ["--from", "60km/h", "--to", "100km/h"];
    const {code, err} = await typed("untimed", ...band, "--rate", "10Hz", "--max-gap", "3s", "--json");
    assert.deepEqual([code, err], [0, ""]);
    const file = join(folder, "session.yaml");
    const draft = readFileSync(file, "utf8");
    assert.match(draft, /^rate: 10 Hz/m);
    assert.match(draft, /^maxGap: 3 s/m);
    writeFileSync(file, filled(draft, ["baseline", "changed", "changed"]));
    const day = loadDay(readSession(file));
    // the timed one has a sample every 0.125 s instead of 0.1 s
    const expected = new Map([
      ["one.csv", 20 / 3],
      ["two.csv", 20 / 3],
      ["timed.csv", 25 / 3],
    ]);
    assert.equal(day.runs.length, 3);
    for (const {run, pass} of day.runs) assertClose(pass!.elapsedS, expected.get(run.file)!, 1e-3, run.file);
    assert.equal(day.inputs.length, 4);
  });
});
