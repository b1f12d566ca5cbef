import assert from "node:assert/strict";
import {mkdtempSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import fc from "fast-check";
import {describe, it} from "vitest";
import {InputError} from "../../lib/result/error.ts";
import {readSession} from "../../lib/run/session.ts";
import {assertClose} from "../assert-close.ts";

const GOOD = `# a comment
fairpull: 1
test: comparison
question: Does the smooth elbow shorten the pull?
primary: band-time
worthwhile: 0.15 s
band: {from: 60 km/h, to: 110 km/h, gear: 3}
arms: {baseline: ribbed hose, changed: smooth elbow}
plan: {order: abba, runs: 4, seed: 7}
vehicle: {mass: 1190 kg, dragArea: 0.62 m2, rollingCoefficient: 0.012}
air: {temperature: 21 degC, pressure: 1008 hPa, humidity: 0.55}
runs:
  - {file: a.csv, arm: baseline, block: 1, direction: out, at: "14:05"}
  - {file: b.csv, arm: changed, block: 1, conditions: {airTemperature: 21.5 degC, fuel: 30 l}}
  - {file: c.csv, from: 812 s, to: 845 s, arm: changed, block: 1}
  - {file: c.csv, from: 900 s, to: 931 s, arm: baseline, exclude: "lifted at 95", excludedBefore: not known}
`;

const folder = mkdtempSync(join(tmpdir(), "session-"));

function read(text: string | Buffer) {
  const file = join(folder, "session.yaml");
  writeFileSync(file, text);
  return readSession(file);
}

/** Asserts an InputError with exit code 2 at a line whose message matches. */
function refuses(text: string, line: number, message: RegExp): void {
  assert.throws(
    () => read(text),
    (error: unknown) => {
      assert.ok(error instanceof InputError, String((error as Error).stack));
      assert.equal(error.exitCode, 2);
      assert.match(error.message, message);
      assert.equal(error.details.line, line, error.message);
      return true;
    },
  );
}

const change = (from: string | RegExp, to: string) => {
  const changed = GOOD.replace(from, to);
  assert.notEqual(changed, GOOD);
  return changed;
};

describe("readSession", () => {
  it("says how logs are read that do not tell it, for all and for one run", () => {
    const session = read(
      change("\nruns:", "\nrate: 20 Hz\ngroup: fast\nmaxGap: 2 s\nruns:").replace(
        "{file: b.csv,",
        "{file: b.csv, rate: 10 Hz, group: slow, maxGap: 1500 ms,",
      ),
    );
    assert.deepEqual([session.rateHz, session.group, session.maxGapS], [20, "fast", 2]);
    const own = session.runs.map(({rateHz, group, maxGapS}) => [rateHz, group, maxGapS]);
    assert.deepEqual(own.slice(0, 2), [
      [null, null, null],
      [10, "slow", 1.5],
    ]);
    const plain = read(GOOD);
    assert.deepEqual([plain.rateHz, plain.group, plain.maxGapS], [null, null, null]);
    refuses(change("\nruns:", "\nrate: 0 Hz\nruns:"), 12, /rate must be above 0/);
    refuses(change("\nruns:", "\nmaxGap: 2 km\nruns:"), 12, /maxGap: .*time/);
  });
  it("asks for what a draft leaves open, in words", () => {
    refuses(
      change("question: Does the smooth elbow shorten the pull?", 'question: ""'),
      4,
      /question: is left to fill in/,
    );
    refuses(
      change("question: Does the smooth elbow shorten the pull?", "question:"),
      4,
      /question: is left to fill in/,
    );
    refuses(change("worthwhile: 0.15 s", 'worthwhile: ""'), 6, /worthwhile/);
    refuses(change("changed: smooth elbow", 'changed: ""'), 8, /arms\.changed: is left to fill in/);
    refuses(
      change("arm: baseline, block: 1, d", "arm: , block: 1, d"),
      13,
      /runs\[1\]\.arm: is left to fill in: baseline or changed/,
    );
  });
  it("takes the unit and the looks of a plan, and several looks only with a number of runs", () => {
    const unit = read(change("order: abba,", "order: abba, unit: fitting, looks: 2,"));
    assert.deepEqual([unit.plan!.unit, unit.plan!.looks], ["fitting", 2]);
    refuses(
      change(/plan: .*/, "plan: {order: abba, looks: 2}"),
      9,
      /plan\.looks: several looks need the number of planned runs/,
    );
    refuses(change("order: abba,", "order: abba, unit: sample,"), 9, /plan\.unit/);
  });
  it("refuses a run in another gear than the band's, unless it is excluded", () => {
    assert.equal(read(change("direction: out", "direction: out, gear: 3")).runs[0].gear, 3);
    assert.equal(read(GOOD).runs[0].gear, null);
    refuses(
      change("direction: out", "direction: out, gear: 4"),
      13,
      /run 1 was driven in gear 4, and the band is one of gear 3; exclude the run/,
    );
    assert.equal(read(change("arm: baseline, exclude", "arm: baseline, gear: 4, exclude")).runs[3].gear, 4);
  });
  it("converts every quantity to SI and fills what was left out with null", () => {
    const session = read(GOOD);
    assertClose(session.band.fromMps, 60 / 3.6, 1e-12);
    assert.equal(session.band.unit, "km/h");
    assert.deepEqual(session.worthwhile, {value: 0.15, unit: "s"});
    assertClose(session.air.temperatureK!, 294.15, 1e-9);
    assert.equal(session.air.pressurePa, 100_800);
    assert.equal(session.vehicle.rotatingMassFactor, null);
    assert.deepEqual(session.plan, {
      order: "abba",
      runs: 4,
      seed: 7,
      looks: 1,
      unit: "run",
      locked: null,
    });
    assert.equal(session.seed, 1);
    assert.equal(session.level, 0.95);
    assert.equal(session.runs[3].exclude, "lifted at 95");
    assert.equal(session.runs[3].line, 16);
    assertClose(session.runs[1].conditions.fuelM3!, 0.03, 1e-12);
    assert.equal(session.runs[0].fromS, null);
    assert.equal(session.runs[2].fromS, 812);
  });

  it("takes a worthwhile difference in per cent of the baseline mean", () => {
    assert.deepEqual(read(change("0.15 s", "2 %")).worthwhile, {value: 2, unit: "%"});
  });

  it("names a misspelt key and the one that was meant", () => {
    refuses(
      change("worthwhile:", "worthwile:"),
      6,
      /"worthwile" is not a key of a session; did you mean "worthwhile"\?/,
    );
    refuses(
      change("block: 1, direction", "blok: 1, direction"),
      13,
      /"blok" in runs\[1\].*did you mean "block"/,
    );
  });

  it("says which keys need a later version", () => {
    refuses(
      change("fairpull: 1\n", "fairpull: 1\nengine: abc\n"),
      3,
      /"engine" is a key of sessions that look into the engine log/,
    );
    refuses(change("block: 1, direction", "settling: true, direction"), 13, /"settling".*later versions/);
  });

  it("reads a session before the day only where it is asked for", () => {
    const before = GOOD.slice(0, GOOD.indexOf("\nruns:") + 1);
    refuses(before, 2, /no run is listed; before the day this session is for fairpull plan/);
    const session = readSession(join(folder, "session.yaml"), {beforeRuns: true});
    assert.deepEqual(session.runs, []);
    assert.equal(session.written["question"], session.question);
  });

  it("takes letters for arms in a sealed test, and nowhere else", () => {
    const lettered = GOOD.replaceAll("arm: baseline", "arm: A").replaceAll("arm: changed", "arm: B");
    refuses(lettered, 13, /run 1 has the letter A, and the session has no seal/);
    const commitment = `commitment: "sha256:${"0".repeat(64)}"`;
    const sealed = (seal: string, text = lettered) => text.replace("\nruns:", `\nseal: {${seal}}\nruns:`);
    refuses(sealed(commitment, GOOD), 14, /run 1 names its arm, and the labels of this session are sealed/);
    const closed = read(sealed(commitment));
    assert.deepEqual(closed.arms, {baseline: "A", changed: "B"});
    assert.equal(closed.seal!.letters, null);
    const open = read(sealed(`${commitment}, letters: {A: changed, B: baseline}`));
    assert.notEqual(open.runs[0].arm, closed.runs[0].arm);
    assert.notDeepEqual(open.arms, closed.arms);
    refuses(sealed(`${commitment}, letters: {A: changed, B: changed}`), 12, /both letters stand for one arm/);
  });

  it.each([
    [
      change("primary: band-time", "primary: torque"),
      5,
      /primary: "torque" is not known; .* band-time, corrected-band-time, band-power/,
    ],
    [
      change("primary: band-time", "primary: band-power"),
      6,
      /worthwhile: .* write for example "2 kW" or "2 %"/,
    ],
    [
      change("test: comparison", "test: coastdown"),
      3,
      /test: "coastdown" is another kind of test .*; fairpull judge answers it/,
    ],
    [change("test: comparison", "test: meter"), 3, /test: "meter" needs a later version/],
    [change("test: comparison", "test: magic"), 3, /test: "magic" is not known/],
    [change("fairpull: 1", "fairpull: 2"), 2, /must be 1, the version/],
    [
      change("mass: 1190 kg", "mass: 1190"),
      10,
      /vehicle\.mass: 1190 has no unit; write for example "1190 kg"/,
    ],
    [change("mass: 1190 kg", "mass: 1190 m"), 10, /1190 m is a length, a mass is needed/],
    [change("60 km/h", "60 kmh-ish"), 7, /band\.from: .*kmh-ish/],
    [change("from: 60 km/h", "from: 0 km/h"), 7, /standstill/],
    [change("from: 60 km/h", "from: 120 km/h"), 7, /rises/],
    [change("0.15 s", "0.15"), 6, /worthwhile: .*no unit/],
    [change("0.15 s", "-0.15 s"), 6, /not above zero/],
    [change("arm: baseline, block", "arm: base, block"), 13, /arm/],
    [
      change("from: 812 s, to: 845 s", "from: 845 s, to: 812 s"),
      15,
      /ends at 812 s, not after its start at 845 s/,
    ],
    [
      change("c.csv, from: 900 s, to: 931 s", "c.csv, from: 812 s, to: 845 s"),
      16,
      /same span of c\.csv as run 3 \(line 15\)/,
    ],
    [change("question: Does", "question: [Does"), 5, /not valid YAML/],
    [change("primary: band-time\n", ""), 2, /primary.*is missing/],
    [GOOD.replaceAll("arm: changed", "arm: baseline"), 13, /no run has arm: changed/],
    [change("primary: band-time\n", "primary: band-time\nprimary: band-time\n"), 6, /unique/i],
    ["[1, 2]", 1, /holds no keys/],
    ["", 1, /holds no keys/],
  ])("refuses with line and reason: %#", (text, line, message) => {
    refuses(text, line, message);
  });

  it("says when the path is wrong", () => {
    assert.throws(() => readSession(join(folder, "none.yaml")), {
      name: "InputError",
      message: /no such file; check the path/,
    });
    assert.throws(() => readSession(folder), {name: "InputError", message: /is a folder/});
  });

  it("reads or refuses any text, and never fails in another way", () => {
    // Fuzz: one line replaced or cut, or a few characters changed. Seed fixed by fast-check's option.
    fc.assert(
      fc.property(fc.nat(GOOD.length - 1), fc.nat(30), fc.string({maxLength: 12}), (at, cut, put) => {
        try {
          const session = read(GOOD.slice(0, at) + put + GOOD.slice(at + cut));
          assert.ok(session.band.fromMps > 0 && session.worthwhile.value > 0);
        } catch (error) {
          assert.ok(error instanceof InputError, String((error as Error).stack));
        }
      }),
      {seed: 11, numRuns: 1500},
    );
  });
});
