import assert from "node:assert/strict";
import {mkdtempSync, readdirSync, readFileSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {afterAll, describe, it} from "vitest";
import {judgeCoastdown} from "../../lib/judge/coastdown.ts";
import {readLogBytes} from "../../lib/log/read.ts";
import {coastdownSchema} from "../../lib/result/schemas/coastdown.ts";
import {levelForceN} from "../../lib/roadload/coefficients.ts";
import {readCoastdownSession} from "../../lib/run/coastdown-session.ts";
import {passesOfLog} from "../../lib/run/passes.ts";
import {simulateCoastDay} from "../../lib/simulate/coast-day.ts";
import {coastDayFiles} from "../../lib/simulate/coast-files.ts";
import {COAST_SCENARIOS, coastScenarioNamed} from "../../lib/simulate/coast-scenario.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {writeDay} from "../../lib/simulate/write.ts";
import {assertClose} from "../assert-close.ts";

const DEMO = coastScenarioNamed("coastdown")!;
const FOLDER = fileURLToPath(new URL("../../data-demo/coastdown/", import.meta.url));
const scratch = mkdtempSync(join(tmpdir(), "fairpull-coast-day-"));
afterAll(() => rmSync(scratch, {recursive: true, force: true}));

describe("the demo day of coastdowns", () => {
  it("comes from the committed seed, byte for byte", () => {
    const files = coastDayFiles(simulateCoastDay(DEMO, DEMO.seed));
    assert.deepEqual(readdirSync(FOLDER).sort(), [...files.keys()].sort());
    for (const [name, text] of files) assert.equal(readFileSync(join(FOLDER, name), "utf8"), text, name);
  });
  it("is judged to terms whose intervals hold the truth, with every check held", () => {
    const result = judgeCoastdown(readCoastdownSession(join(FOLDER, "session.yaml")));
    coastdownSchema.parse(result);
    const truth = JSON.parse(readFileSync(join(FOLDER, "truth.json"), "utf8")).road_load;
    const holds = ({interval}: {interval: {low: number; high: number} | null}, value: number) =>
      assert.ok(interval && interval.low <= value && value <= interval.high, `${value}`);
    const [f0, f2] = result.terms;
    holds(f0, truth.f0_n);
    holds(f2, truth.f2_n_per_mps2);
    const load = {f0N: truth.f0_n, f1NPerMps: 0, f2NPerMps2: truth.f2_n_per_mps2};
    for (const force of result.forces) holds(force, levelForceN(load, force.speed_mps));
    assertClose(result.air.density_kg_m3, truth.air_density_kg_m3, 1e-3); // two formulas: 0.06 % apart
    assert.deepEqual(
      result.checks.map(check => check.outcome),
      ["held", "held", "held", "held"],
    );
    assert.deepEqual(result.warnings, []);
    assert.equal(result.runs.filter(run => run.used).length, 8);
  });
});

describe("simulateCoastDay", () => {
  it("logs a roll-in above the band and one fall through it, both ways", () => {
    const day = simulateCoastDay(DEMO, 5);
    const files = coastDayFiles(day);
    for (const [i, run] of day.runs.entries()) {
      assert.equal(run.direction, i % 2 === 0 ? "out" : "back");
      assert.ok(run.speedMps[0] > DEMO.band.fromMps);
      assert.ok(run.speedMps[run.speedMps.length - 1] < DEMO.band.toMps);
      const log = readLogBytes(Buffer.from(files.get(run.file)!), {name: run.file});
      const passes = passesOfLog(log, DEMO.band);
      assert.equal(passes.length, 1);
      assert.deepEqual(passes[0].flags, []);
    }
  });
  it("gives back the terms of a day without wind, noise or slope", () => {
    // What is left is the receiver's lag of 0.12 s, which shifts a trace and hardly bends it, and rounding of the log.
    const still = {
      ...DEMO,
      runs: 2,
      warmingKPerHour: 0,
      road: {...DEMO.road, grade: 0},
      wind: {meanMps: 0, slowSdMps: 0, gustSdMps: 0, gustCorrelationS: 0},
      logger: {...DEMO.logger, correlatedSdMps: 0, whiteSdMps: 0},
    };
    const day = simulateCoastDay(still, 1);
    const folder = join(scratch, "still");
    writeDay(day, folder);
    const [f0, f2] = judgeCoastdown(readCoastdownSession(join(folder, "session.yaml"))).terms;
    // the session's factor of 1.031 has three decimals: 0.05 %
    assertClose(f0.estimate, day.truth.roadLoad.f0N, 0.002 * day.truth.roadLoad.f0N);
    assertClose(f2.estimate, day.truth.roadLoad.f2NPerMps2, 0.002 * day.truth.roadLoad.f2NPerMps2);
  });
  it("gives the same day again, another with another seed, and a name of its own", () => {
    const texts = (seed: number) => [...coastDayFiles(simulateCoastDay(DEMO, seed)).values()];
    assert.deepEqual(texts(7), texts(7));
    assert.notDeepEqual(texts(7)[0], texts(8)[0]);
    for (const {name} of COAST_SCENARIOS) assert.equal(scenarioNamed(name), null);
    assert.equal(coastScenarioNamed("coast down"), null);
  });
});
