import assert from "node:assert/strict";
import {mkdtempSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {describe, it} from "vitest";
import {judgeCoastdown} from "../../lib/judge/coastdown.ts";
import {coastdownSchema} from "../../lib/result/schemas/coastdown.ts";
import {readCoastdownSession, testOfSession} from "../../lib/run/coastdown-session.ts";
import {assertClose} from "../assert-close.ts";
import {coastSet} from "../roadload/coast-sets.ts";

const CAR = {
  load: {f0N: 150, f1NPerMps: 0, f2NPerMps2: 0.38},
  massKg: 1400,
  effectiveMassKg: 1400 * 1.03,
  fromMps: 120 / 3.6,
};

/** Six coastdowns as logs with a session beside them; `change` edits its text. */
function folderWith(
  change: (text: string) => string = text => text,
  speeds = (_run: number, kmh: number) => kmh,
) {
  const folder = mkdtempSync(join(tmpdir(), "coastdown-"));
  const runs = coastSet(CAR, 3);
  const lines = runs.map((run, i) => {
    const rows = Array.from(
      run.timeS,
      (time, k) => `${time.toFixed(2)},${speeds(i, 3.6 * run.speedMps[k]).toFixed(3)}`,
    );
    writeFileSync(join(folder, `coast-${i + 1}.csv`), `Time [s],Speed [km/h]\n${rows.join("\n")}\n`);
    return `  - {file: coast-${i + 1}.csv, direction: ${run.direction}}`;
  });
  const text = [
    "fairpull: 1",
    "test: coastdown",
    "question: What are this car's drag and rolling terms?",
    "band: {from: 115 km/h, to: 26 km/h}",
    "vehicle: {mass: 1400 kg}",
    "air: {temperature: 12 degC, pressure: 1005 hPa, humidity: 0.6}",
    "warmUp: 20 min",
    "runs:",
    ...lines,
    "",
  ].join("\n");
  const file = join(folder, "session.yaml");
  writeFileSync(file, change(text));
  return file;
}

describe("judgeCoastdown", () => {
  it("gives terms with intervals, forces, covariance and reference conditions", () => {
    const file = folderWith();
    assert.equal(testOfSession(file), "coastdown");
    const result = judgeCoastdown(readCoastdownSession(file));
    coastdownSchema.parse(result);
    const [f0, f2] = result.terms;
    // one day of noise: within three of its own standard errors
    assertClose(f0.estimate, 150, 3 * f0.u!);
    assertClose(f2.estimate, 0.38, 3 * f2.u!);
    assert.ok(f0.interval && f2.interval);
    assert.equal(result.df, 4);
    // By hand: 12 °C is 8 K below the reference, so F0 loses 6.9 % on the way there.
    assertClose(result.reference.f0_n, f0.estimate * (1 - 8 * 8.6e-3), 0.01);
    assertClose(result.rolling_coefficient, f0.estimate / 1400 / 9.80665, 1e-9);
    assert.deepEqual(
      result.checks.map(check => check.outcome),
      ["held", "held", "held", "held"],
    );
    assert.match(result.mass.source, /SAE J2263/);
    assert.deepEqual(result.warnings, []);
    assert.equal(result.inputs.length, 7);
  });
  it("asks for 15 minutes of warming up, and for both directions", () => {
    const outcome = (change: (text: string) => string, name: string) =>
      judgeCoastdown(readCoastdownSession(folderWith(change))).checks.find(check => check.name === name)!
        .outcome;
    assert.equal(
      outcome(text => text.replace("20 min", "5 min"), "warm up"),
      "failed",
    );
    assert.equal(
      outcome(text => text.replace("warmUp: 20 min\n", ""), "warm up"),
      "not-checkable",
    );
    assert.equal(
      outcome(text => text.replaceAll("direction: back", "direction: out"), "both directions"),
      "failed",
    );
  });
  it("names a run with a brake and goes on without it", () => {
    const braked = folderWith(undefined, (run, kmh) =>
      run === 1 && kmh < 80 ? Math.max(20, kmh - 5 * (80 - kmh)) : kmh,
    );
    const result = judgeCoastdown(readCoastdownSession(braked));
    assert.equal(result.runs[1].used, false);
    assert.match(result.runs[1].problem!, /a brake/);
    assert.equal(result.df, 3);
    const slightly = folderWith(undefined, (run, kmh) =>
      run === 1 && kmh < 80 ? Math.max(20, kmh - 2.5 * (80 - kmh)) : kmh,
    );
    assert.throws(() => judgeCoastdown(readCoastdownSession(slightly)), {
      message: /no road load fits these runs, but one does without run 2; take out runs with brakes/,
    });
  });
  it("refuses what the session lacks, with its line", () => {
    const refuses = (change: (text: string) => string, message: RegExp) =>
      assert.throws(() => readCoastdownSession(folderWith(change)), {name: "InputError", message});
    refuses(
      text => text.replace("vehicle: {mass: 1400 kg}\n", ""),
      /vehicle: is missing; a force needs the car's mass/,
    );
    refuses(text => text.replace("from: 115", "from: 15"), /line 4.*falls from a higher to a lower speed/);
    refuses(text => text.replace("humidity: 0.6", "humidity: 60"), /line 6.*55 % is written 0\.55/);
    refuses(
      text => text.replace("warmUp", "warmup"),
      /"warmup" is not a key of a session; did you mean "warmUp"/,
    );
    const none = readCoastdownSession(folderWith(text => text.replace("from: 115", "from: 200")));
    assert.throws(() => judgeCoastdown(none), {
      name: "InputError",
      message: /fewer than 2 runs can be used; run 1: its log never falls/,
    });
  });
});
