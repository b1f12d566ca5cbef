import assert from "node:assert/strict";
import {mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import fc from "fast-check";
import {afterAll, describe, it} from "vitest";
import {judge} from "../../lib/judge/judge.ts";
import {readLogBytes} from "../../lib/log/read.ts";
import type {InputError} from "../../lib/result/error.ts";
import {loadDay} from "../../lib/run/day.ts";
import {passesOfLog} from "../../lib/run/passes.ts";
import {readSession} from "../../lib/run/session.ts";
import {simulateDay} from "../../lib/simulate/day.ts";
import {dayFiles, sessionText} from "../../lib/simulate/files.ts";
import {SCENARIOS, scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {writeDay} from "../../lib/simulate/write.ts";
import {assertClose} from "../assert-close.ts";

const DEMO = scenarioNamed("intake-elbow")!;
const DEMO_FOLDER = fileURLToPath(new URL("../../data-demo/intake-elbow/", import.meta.url));
/**
 * What the logger's noise makes of a band time, by hand: white noise between two samples (2/3 of its variance) and correlated
 * noise, over accelerations of 3 and 2 m/s² at the ends: √((2/3 · 0.03² + 0.02²) · (1/3² + 1/2²)) s. A pass's own uncertainty
 * is a fifth less, since it cannot see the correlated part.
 */
const LOGGER_SD_S = 0.019;
const scratch = mkdtempSync(join(tmpdir(), "fairpull-simulate-"));
afterAll(() => rmSync(scratch, {recursive: true, force: true}));

describe("the demo data", () => {
  it("come from the committed seed, byte for byte", () => {
    const files = dayFiles(simulateDay(DEMO, DEMO.seed));
    assert.deepEqual(readdirSync(DEMO_FOLDER).sort(), [...files.keys()].sort());
    for (const [name, text] of files) assert.equal(readFileSync(join(DEMO_FOLDER, name), "utf8"), text, name);
  });
  it("tell the truth beside the logs", () => {
    const {effect, relative_power, runs} = JSON.parse(readFileSync(join(DEMO_FOLDER, "truth.json"), "utf8"));
    assert.deepEqual([effect.unit, relative_power, runs.length], ["s", 0.03, 12]);
    assert.ok(effect.value < -DEMO.worthwhileS); // more than worthwhile, as its one line in the list promises
  });
});

describe("the files of a day", () => {
  it("are read back to the numbers they were written from", () => {
    for (const scenario of SCENARIOS) {
      const day = simulateDay(scenario, 2);
      const files = dayFiles(day);
      for (const run of day.runs) {
        const log = readLogBytes(Buffer.from(files.get(run.file)!), {name: run.file});
        assert.deepEqual(log.timeS, run.timeS);
        const values = new Map(log.channels.map(channel => [channel.name, channel.values]));
        assert.deepEqual(values.get("speed"), run.speedMps);
        assert.deepEqual(values.get("height"), run.heightM);
        assert.deepEqual(values.get("latitude"), run.latitudeDeg);
        assert.deepEqual(values.get("longitude"), run.longitudeDeg);
        assert.deepEqual(values.get("course"), run.courseDeg);
        assert.deepEqual(values.get("satellites"), run.satellites);
        assert.deepEqual(values.get("hdop"), run.hdop);
        assert.deepEqual(log.unread, {rows: [], columns: []});
        const passes = passesOfLog(log, scenario.band);
        assert.equal(passes.length, 1);
        assertClose(passes[0].elapsedS, run.truth.bandTimeS, 5 * LOGGER_SD_S);
        assert.deepEqual(passes[0].flags, [], `${scenario.name} ${run.file}`);
      }
    }
  });

  it("make a session that reads, loads and is a fair test", () => {
    for (const scenario of SCENARIOS.filter(({identical, engine}) => !identical && !engine)) {
      const folder = join(scratch, scenario.name);
      const day = simulateDay(scenario, 3);
      writeDay(day, folder);
      const session = readSession(join(folder, "session.yaml"));
      assert.deepEqual(session.band, scenario.band);
      assert.deepEqual(session.arms, scenario.arms);
      assert.equal(session.worthwhile.value, scenario.worthwhilePercent ?? scenario.worthwhileS);
      assert.equal(session.plan!.seed, 3);
      assert.deepEqual(
        session.runs.map(({file, arm, block, direction, at}) => ({file, arm, block, direction, at})),
        day.runs.map(({file, arm, block, direction, startClock: at}) => ({file, arm, block, direction, at})),
      );
      session.runs.forEach(({conditions}, i) => {
        // one decimal in the file, of °C, litres and m/s
        assertClose(conditions.intakeTemperatureK!, day.runs[i].conditions.intakeTemperatureK!, 0.0501);
        assertClose(conditions.fuelM3!, day.runs[i].conditions.fuelM3!, 0.0000501);
        assertClose(conditions.windMps!, day.runs[i].conditions.windMps!, 0.0501);
      });
      const failed = judge(session, loadDay(session)).checks.filter(check => check.outcome === "failed");
      assert.deepEqual(failed, [], scenario.name);
    }
  });

  it("quote whatever words a scenario has", () => {
    const words = fc
      .string({unit: "binary", minLength: 1})
      .filter(text => text.trim() === text && text !== "");
    const day = simulateDay(DEMO, 1);
    const file = join(scratch, "quoted.yaml");
    fc.assert(
      fc.property(words, words, (question, baseline) => {
        const scenario = {...DEMO, question, arms: {...DEMO.arms, baseline}};
        writeFileSync(file, sessionText({...day, scenario}));
        const session = readSession(file);
        assert.deepEqual([session.question, session.arms.baseline], [question, baseline]);
      }),
      {seed: 1, numRuns: 80},
    );
  });
});

describe("writeDay", () => {
  const day = simulateDay(DEMO, 1);

  it("makes the folder and leaves nothing else behind", () => {
    const folder = join(scratch, "new", "deep", "day");
    const names = writeDay(day, folder);
    assert.deepEqual(readdirSync(folder).sort(), [...names].sort());
    assert.deepEqual(readdirSync(join(folder, "..")), ["day"]);
    mkdirSync(join(scratch, "empty"));
    writeDay(day, join(scratch, "empty"));
  });

  it("refuses a folder that holds something, and a file", () => {
    const folder = join(scratch, "full");
    mkdirSync(folder);
    writeFileSync(join(folder, "afternoon.csv"), "mine");
    assert.throws(
      () => writeDay(day, folder),
      (error: InputError) => {
        assert.equal(error.exitCode, 2);
        assert.match(error.message, /full: is not empty: it holds "afternoon\.csv"; name a new folder/);
        return true;
      },
    );
    assert.deepEqual(readdirSync(folder), ["afternoon.csv"]);
    assert.throws(() => writeDay(day, join(folder, "afternoon.csv")), {
      name: "InputError",
      message: /is a file; name a new folder/,
    });
    assert.throws(() => writeDay(day, join(folder, "afternoon.csv", "below")), {
      name: "InputError",
      message: /below: cannot be written \((ENOTDIR|EEXIST|ENOENT)\)/,
    });
  });

  it("replaces its own files when told, and no others", () => {
    const folder = join(scratch, "again");
    writeDay(day, folder);
    writeFileSync(join(folder, "notes.txt"), "mine");
    const other = simulateDay(DEMO, 2);
    writeDay(other, folder, {overwriteOwn: true});
    assert.equal(readFileSync(join(folder, "notes.txt"), "utf8"), "mine");
    for (const [name, text] of dayFiles(other))
      assert.equal(readFileSync(join(folder, name), "utf8"), text, name);
  });
});
