import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {findRuns} from "../../lib/run/find-runs.ts";
import {gearNumbers} from "../../lib/run/gear.ts";
import {directionsByHeading} from "../../lib/run/heading.ts";
import {passesOfLog} from "../../lib/run/passes.ts";
import {suggestBand} from "../../lib/run/suggest-band.ts";
import {assertClose} from "../assert-close.ts";
import {COAST, type Drive, drive, FULL, idle, type Leg, logOf} from "./drives.ts";

const KMH = 1 / 3.6;
const BAND = {fromMps: 60 * KMH, toMps: 110 * KMH, unit: "km/h", gear: null};

/** An approach at 50 km/h, a pull from there, and a lift. */
function pull(name: string, headingDeg: number, share = 1, gearRatio = 130): Leg[] {
  const to = (target: number) => (v: number) => Math.min(Math.max((target - v) / 1.5, -1.1), 1.1);
  return [
    {name: "approach", seconds: 25, accelerationMps2: to(50 * KMH), headingDeg, throttle: 0.3, gearRatio},
    {name, seconds: 11, accelerationMps2: v => share * FULL(v), headingDeg, throttle: 0.99, gearRatio},
    {name: "lift", seconds: 4, accelerationMps2: () => -0.9, headingDeg},
  ];
}

/** Out and back eight times with idle driving between, and two coastdowns: about an hour. */
const HOUR: Leg[] = [
  ...idle(74),
  ...[74, 254, 74, 254, 74, 254, 74, 254].flatMap((heading, k) => [
    ...pull(`pull ${k + 1}`, heading),
    {name: "slow", seconds: 9, accelerationMps2: () => -2, brake: 1, headingDeg: heading},
    ...idle((heading + 90) % 360),
  ]),
  ...pull("run up", 74),
  {name: "coastdown 1", seconds: 70, accelerationMps2: COAST, headingDeg: 74},
  {name: "slow", seconds: 12, accelerationMps2: () => -2.2, brake: 1, headingDeg: 74},
  ...idle(160),
  ...pull("run up", 254),
  {name: "coastdown 2", seconds: 70, accelerationMps2: COAST, headingDeg: 254},
  {name: "slow", seconds: 12, accelerationMps2: () => -2.2, brake: 1, headingDeg: 254},
  ...idle(0),
  ...idle(30),
  ...idle(60),
];

const speedOnly = ({timeS, speedMps, courseDeg}: Drive) =>
  logOf(timeS, {speed: {values: speedMps, unit: "m/s"}, course: {values: courseDeg, unit: "deg"}});
const withEngine = (driven: Drive) => {
  const engine = logOf(driven.timeS, {
    throttle: {values: driven.throttle, unit: "1"},
    "engine-speed": {values: driven.engineRpm, unit: "r/min"},
    brake: {values: driven.brake, unit: null},
  });
  const log = speedOnly(driven);
  return {...log, channels: [...log.channels, ...engine.channels]};
};

describe("findRuns in an hour of driving", () => {
  const driven = drive(HOUR);
  const legs = (start: string) => driven.legs.filter(({name}) => name.startsWith(start));

  it("is about an hour", () => {
    const seconds = driven.timeS[driven.timeS.length - 1];
    assert.ok(seconds > 3300 && seconds < 4200, String(seconds));
  });

  for (const [what, log] of [
    ["speed and course alone", speedOnly(driven)],
    ["throttle and engine speed too", withEngine(driven)],
  ] as const) {
    describe(`with ${what}`, () => {
      const {runs} = findRuns(log);
      const pulls = runs.filter(({kind}) => kind === "pull");
      const coasts = runs.filter(({kind}) => kind === "coastdown");

      it("finds every pull and no idle driving, each span with one pass through the band", () => {
        const truth = driven.legs.filter(({name}) => /^pull|^run up/.test(name));
        assert.equal(pulls.length, truth.length);
        const passes = passesOfLog(log, BAND);
        pulls.forEach((run, k) => {
          // acceleration is told from a second of speed, and a pull from 30 % of its largest
          assertClose(run.startS, truth[k].fromS, 0.6, "start");
          assertClose(run.endS, truth[k].toS, 0.6, "end");
          const inside = passes.filter(
            ({startS, elapsedS}) => startS >= run.fromS && startS + elapsedS <= run.toS,
          );
          assert.equal(inside.length, 1);
          assert.deepEqual(run.flags, []);
        });
      });

      it("finds both coastdowns and nothing else that slows down", () => {
        const truth = legs("coastdown");
        assert.equal(coasts.length, truth.length);
        coasts.forEach((run, k) => {
          assert.ok(
            run.startS >= truth[k].fromS - 6 && run.startS <= truth[k].fromS + 2.5,
            `starts ${run.startS}`,
          );
          assertClose(run.endS, truth[k].toS, 2.5, "end"); // its slope is told from 4 s
          assert.ok(run.fromS <= run.startS && run.toS >= run.endS);
        });
      });

      it("tells both directions by heading", () => {
        const {directions, outDeg} = directionsByHeading(pulls.map(({headingDeg}) => headingDeg));
        assertClose(outDeg!, 74, 0.5);
        const [out, back] = ["out", "back"];
        assert.deepEqual(directions, [out, back, out, back, out, back, out, back, out, back]);
      });
    });
  }

  it("tells gentle rises from pulls by the hardest at the same speeds, and keeps them in sight", () => {
    const {gentle} = findRuns(speedOnly(driven));
    assert.ok(
      gentle.length >= 8 && gentle.every(({toldBy}) => toldBy === "speed"),
      `${gentle.length} gentle`,
    );
    const {runs, gentle: none} = findRuns(withEngine(driven));
    assert.ok(runs.every(({toldBy}) => toldBy === "throttle"));
    assert.deepEqual(none, []);
  });

  const slow: Leg = {name: "slow", seconds: 9, accelerationMps2: () => -2.5, brake: 1};

  it("tells gears apart by engine speed over road speed", () => {
    const two = drive([...pull("third", 0, 1, 130), slow, ...idle(0), ...pull("fourth", 0, 0.7, 98), slow]);
    const {runs} = findRuns(withEngine(two));
    assert.equal(runs.length, 2);
    assertClose(runs[0].ratioRpmPerMps!, 130, {rel: 0.005});
    assertClose(runs[1].ratioRpmPerMps!, 98, {rel: 0.005});
    assert.deepEqual(gearNumbers(runs), [null, null]); // ratios alone have no number
    assert.deepEqual(gearNumbers([{...runs[0], gear: 3}, runs[1], runs[0]]), [3, null, 3]);
  });

  it("leaves a pull in the next gear a pull, without a throttle to tell", () => {
    const two = drive([...pull("third", 0), slow, ...idle(0), ...pull("fourth", 0, 0.7), slow]);
    assert.equal(findRuns(speedOnly(two)).runs.length, 2);
  });

  it("finds the same pulls at 1 Hz, in whole km/h, with held samples and single zeros", () => {
    const truth = driven.legs.filter(({name}) => /^pull|^run up/.test(name));
    const slow = drive(HOUR, {rateHz: 1});
    const coarse = {...driven, speedMps: driven.speedMps.map(v => Math.round(v * 3.6) / 3.6)};
    const held = {...driven, speedMps: driven.speedMps.map((_, i) => driven.speedMps[i - (i % 10)])};
    const zeros = {...driven, speedMps: driven.speedMps.map((v, i) => (i % 97 === 0 ? 0 : v))};
    for (const [name, odd] of Object.entries({slow, coarse, held, zeros})) {
      const pulls = findRuns(speedOnly(odd)).runs.filter(({kind}) => kind === "pull");
      assert.equal(pulls.length, truth.length, name);
      for (const [k, run] of pulls.entries()) assertClose(run.startS, truth[k].fromS, 3, `${name}: start`);
    }
  });
});

describe("findRuns", () => {
  it("does not join a pull across a gap, and takes no braking for a coastdown", () => {
    const driven = drive([
      ...pull("pull", 0),
      {name: "brake", seconds: 20, accelerationMps2: () => -1, brake: 1},
    ]);
    const keep = (i: number) => driven.timeS[i] < 30 || driven.timeS[i] > 33;
    const pick = (values: Float64Array) => values.filter((_, i) => keep(i));
    const broken = Object.fromEntries(
      Object.entries(driven).map(([name, values]) => [
        name,
        values instanceof Float64Array ? pick(values) : values,
      ]),
    ) as unknown as Drive;
    const {runs} = findRuns(withEngine(broken));
    assert.ok(runs.length >= 1);
    for (const run of runs) {
      assert.equal(run.kind, "pull");
      assert.ok(run.toS < 30 || run.fromS > 33);
    }
  });

  it("refuses a log without speed", () => {
    const log = logOf(Float64Array.of(0, 1), {height: {values: Float64Array.of(1, 2), unit: "m"}});
    assert.throws(() => findRuns(log), /no column is recognised as speed/);
  });

  it("never fails on any trace: spans inside the log, disjoint, in order", () => {
    const row = fc.record({
      step: fc.oneof(fc.constant(0.1), fc.double({min: 0.01, max: 8, noNaN: true})),
      change: fc.oneof(fc.double({min: -2, max: 3, noNaN: true}), fc.constantFrom(0, Number.NaN, -40, 25)),
      throttle: fc.constantFrom(0, 0.1, 1, 1, Number.NaN),
      repeat: fc.integer({min: 1, max: 40}),
    });
    fc.assert(
      fc.property(fc.array(row, {maxLength: 40}), fc.boolean(), (rows, hasThrottle) => {
        const [time, speed, throttle]: number[][] = [[], [], []];
        let [t, v] = [0, 10];
        for (const {step, change, throttle: open, repeat} of rows) {
          for (let k = 0; k < repeat; k++) {
            t += step;
            v = Math.max(0, v + (Number.isFinite(change) ? change * Math.min(step, 1) : 0));
            time.push(t);
            speed.push(Number.isNaN(change) ? change : v);
            throttle.push(open);
          }
        }
        if (!speed.some(Number.isFinite)) return;
        const log = logOf(Float64Array.from(time), {
          speed: {values: Float64Array.from(speed), unit: "m/s"},
          ...(hasThrottle && {throttle: {values: Float64Array.from(throttle), unit: "1"}}),
        });
        const {runs, gentle} = findRuns(log);
        const all = [...runs, ...gentle].sort((a, b) => a.startS - b.startS);
        all.forEach((run, k) => {
          assert.ok(run.fromS >= time[0] && run.toS <= time[time.length - 1] && run.fromS < run.toS);
          assert.ok(run.fromS <= run.startS && run.startS < run.endS && run.endS <= run.toS);
          if (k > 0) assert.ok(all[k - 1].toS <= run.fromS, `${all[k - 1].toS} ${run.fromS}`);
          for (const value of [run.startMps, run.endMps]) assert.ok(Number.isFinite(value));
        });
      }),
      {numRuns: 400},
    );
  });
});

describe("directionsByHeading", () => {
  it("takes the way of the first run on the road for out, whatever leads there", () => {
    // by hand: three on the axis of 0°/180°, one across it
    const {directions, outDeg} = directionsByHeading([92, 2, 181, 357]);
    assert.deepEqual(directions, [null, "out", "back", "out"]);
    assertClose(outDeg!, 0, 0.01);
    assert.deepEqual(directionsByHeading([null]), {directions: [null], outDeg: null});
  });
});

describe("suggestBand", () => {
  it("is the widest round band inside every pull", () => {
    const pulls = [
      {slowestMps: 49 * KMH, fastestMps: 118 * KMH},
      {slowestMps: 52 * KMH, fastestMps: 121 * KMH},
    ];
    const {band, covered} = suggestBand(pulls)!;
    assertClose(band.fromMps * 3.6, 60, 1e-9);
    assertClose(band.toMps * 3.6, 110, 1e-9);
    assert.equal(covered, 2);
  });
  it("lets one odd pull not rule it, and is null where nothing is covered", () => {
    const usual = {slowestMps: 49 * KMH, fastestMps: 118 * KMH};
    const {band, covered} = suggestBand([usual, usual, {slowestMps: 5 * KMH, fastestMps: 44 * KMH}])!;
    assertClose(band.fromMps * 3.6, 50, 1e-9);
    assert.equal(covered, 2);
    assert.equal(suggestBand([]), null);
    assert.equal(suggestBand([{slowestMps: 51 * KMH, fastestMps: 72 * KMH}]), null);
  });
});
