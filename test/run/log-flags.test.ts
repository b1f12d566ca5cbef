import assert from "node:assert/strict";
import {describe, it} from "vitest";
import type {Channel, Log} from "../../lib/result/log.ts";
import {passesOfLog} from "../../lib/run/passes.ts";
import {firstOrderLag} from "../../lib/simulate/logger.ts";
import {drivePull} from "../../lib/simulate/pull.ts";
import {SCENARIOS} from "../../lib/simulate/scenarios.ts";
import {createRandom, type Random} from "../../lib/stats/random.ts";

const {vehicle, band} = SCENARIOS[0];
const HZ = 10;

function channel(name: string, values: ArrayLike<number>, unit: string | null, column = name): Channel {
  const all = Float64Array.from(values);
  return {
    name,
    column,
    unit,
    valueUnit: unit,
    kind: "number",
    values: all,
    valid: all.filter(Number.isFinite).length,
  };
}

function logOf(timeS: ArrayLike<number>, channels: Channel[]): Log {
  return {
    file: "log",
    format: "",
    timeS: Float64Array.from(timeS),
    timeZero: "elapsed",
    clockZeroS: null,
    channels,
    unread: {rows: [], columns: []},
    guesses: [],
    sha256: "0".repeat(64),
  };
}

/** One clean pull as it truly was: rolling in, full throttle after a random time, lift. */
function drive(random: Random) {
  const throttleS = 2 + 2 * random.uniform();
  const pull = drivePull({
    vehicle,
    band: {...band, toMps: band.toMps + 1.5}, // a smoothed speed gets through the band too
    massKg: vehicle.massKg,
    dragAreaM2: 0.66,
    airDensityKgM3: 1.2,
    powerFactor: 0.8 + 0.4 * random.uniform(),
    rollInMps: band.fromMps - 1 - 2 * random.uniform(),
    throttleS,
    rateHz: HZ,
    gradeAt: distanceM => 0.01 * Math.sin(distanceM / 150),
    headwindAt: () => 0,
  });
  const n = pull.timeS.length;
  const more = 25; // and the car rolls on
  const slope = pull.speedMps[n - 1] - pull.speedMps[n - 2];
  const speedMps = new Float64Array(n + more);
  speedMps.set(pull.speedMps);
  for (let i = n; i < n + more; i++) speedMps[i] = speedMps[n - 1] + slope * (i - n + 1);
  return {...pull, throttleS, speedMps, timeS: Float64Array.from({length: n + more}, (_, i) => i / HZ)};
}

/** Satellite speed: smoothed, noisy, two decimals of km/h. */
function satellite(random: Random, speedMps: Float64Array, smoothingS: number): Float64Array {
  const smooth = firstOrderLag(speedMps, 1 / HZ, smoothingS);
  return smooth.map(v => Math.round((v + 0.045 * random.normal()) * 360) / 360);
}

/** Diagnostic speed: a share too high, late, refreshed at 5 Hz, whole km/h; `slip` widens it for a while. */
function wheels(
  random: Random,
  timeS: Float64Array,
  speedMps: Float64Array,
  slip: {fromS: number; toS: number; share: number} = {fromS: 0, toS: 0, share: 0},
): Float64Array {
  const scale = 1 + 0.04 * random.uniform();
  const late = Math.round(4 * random.uniform());
  return timeS.map((_, i) => {
    const at = Math.max(0, i - (i % 2) - late);
    const factor = timeS[at] >= slip.fromS && timeS[at] < slip.toS ? 1 + slip.share : 1;
    return Math.round(speedMps[at] * factor * scale * 3.6) / 3.6;
  });
}

function shareFlagged(flag: string, times: number, log: (random: Random) => Log): number {
  const random = createRandom(4711, "flags");
  let flagged = 0;
  for (let k = 0; k < times; k++) {
    const [pass] = passesOfLog(log(random), band);
    if (pass.flags.includes(flag as never)) flagged++;
  }
  return flagged / times;
}

describe("receiver-smoothing", () => {
  // What other channels tell of a pull; every one of them alone has to tell a smoothed receiver from a clean one.
  // A pedal tells the coarsest smoothing only, since a foot and an engine take their time as well.
  const beside: Record<string, (random: Random, pull: ReturnType<typeof drive>) => Channel> = {
    "the wheels": (random, {timeS, speedMps}) =>
      channel("vehicle-speed", wheels(random, timeS, speedMps), "m/s"),
    "the engine": (random, {speedMps}) =>
      channel(
        "engine-speed",
        Array.from(speedMps, v => Math.round(v * 120 + 4 * random.normal())),
        "r/min",
      ),
    "an acceleration sensor": (random, {timeS, speedMps}) =>
      channel(
        "acceleration",
        Array.from(timeS, (_, i) => {
          const j = Math.min(Math.max(1, i), timeS.length - 2);
          const slope = ((speedMps[j + 1] - speedMps[j - 1]) * HZ) / 2;
          return slope * 1.02 + 0.15 + 0.2 * random.normal();
        }),
        "m/s2",
      ),
    "a pedal that is let go": (_random, {timeS, speedMps, throttleS}) => {
      const lift = speedMps.indexOf(Math.max(...speedMps));
      return channel(
        "pedal",
        Array.from(timeS, (t, i) => (t >= throttleS && i <= lift ? 1 : 0.1)),
        "1",
      );
    },
  };
  for (const [words, make] of Object.entries(beside)) {
    it(`is told by ${words}, and hardly ever on clean days`, () => {
      const logged = (smoothingS: number) => (random: Random) => {
        const pull = drive(random);
        const speed = satellite(random, pull.speedMps, smoothingS);
        return logOf(pull.timeS, [channel("speed", speed, "m/s"), make(random, pull)]);
      };
      const clean = shareFlagged("receiver-smoothing", 200, logged(0.12));
      const smoothed = shareFlagged("receiver-smoothing", 60, logged(words.includes("pedal") ? 1.2 : 0.8));
      assert.ok(clean <= 0.01, `${clean} of clean days flagged`);
      assert.ok(smoothed >= (words.includes("pedal") ? 0.6 : 0.9), `${smoothed} of smoothed ones flagged`);
    });
  }
});

describe("wheel-speed-mismatch", () => {
  it("is told where wheels spin for a second, and hardly ever where they do not", () => {
    const logged = (share: number) => (random: Random) => {
      const pull = drive(random);
      const fromS = pull.bandStartS + 0.5;
      return logOf(pull.timeS, [
        channel("speed", satellite(random, pull.speedMps, 0.12), "m/s"),
        channel(
          "vehicle-speed",
          wheels(random, pull.timeS, pull.speedMps, {fromS, toS: fromS + 1, share}),
          "m/s",
        ),
      ]);
    };
    const clean = shareFlagged("wheel-speed-mismatch", 300, logged(0));
    const spun = shareFlagged("wheel-speed-mismatch", 60, logged(0.1));
    assert.ok(clean <= 0.01, `${clean} of clean pulls flagged`);
    assert.ok(spun >= 0.95, `${spun} of spun ones flagged`);
  });
});

describe("sensor-default", () => {
  const timeS = Float64Array.from({length: 200}, (_, i) => i / 10);
  const speed = channel(
    "speed",
    timeS.map(t => 10 + 2 * t),
    "m/s",
  );
  const flags = (...beside: Channel[]) => passesOfLog(logOf(timeS, [speed, ...beside]), band)[0].flags;
  const flat = (name: string, value: number, unit: string, valueUnit: string) => ({
    ...channel(
      name,
      timeS.map(() => value),
      unit,
    ),
    valueUnit,
  });
  it("is told of a channel at the value of no sensor, or of none that can be", () => {
    for (const [name, value, unit, valueUnit] of [
      ["intake-temperature", 273.15 - 40, "degC", "K"],
      ["intake-temperature", 273.15 + 117, "degC", "K"],
      ["coolant-temperature", 273.15 + 215, "degC", "K"],
      ["height", -700, "m", "m"],
      ["engine-speed", 16383.75, "r/min", "r/min"],
      ["air-pressure", 255_000, "kPa", "Pa"],
      ["Fuel level", 6553.5, "l", "m3"], // a name we do not know, with all bits set in tenths
    ] as const) {
      const held = name === "Fuel level" ? value / 1000 : value;
      assert.deepEqual(flags(flat(name, held, unit, valueUnit)), ["sensor-default"], `${name} ${value}`);
    }
  });
  it("is not told of what is cold, constant or zero for good reasons", () => {
    assert.deepEqual(
      flags(
        flat("intake-temperature", 273.15 - 12, "degC", "K"),
        flat("coolant-temperature", 273.15 + 90, "degC", "K"),
        flat("throttle", 1, "%", "1"),
        flat("brake", 0, "1", "1"),
        flat("height", 0, "m", "m"),
        flat("lambda", 1, "1", "1"),
      ),
      [],
    );
  });
});

describe("poor-fix", () => {
  it("goes by the kind of fix on the one scale of all formats", () => {
    const timeS = Float64Array.from({length: 200}, (_, i) => i / 10);
    const speed = channel(
      "speed",
      timeS.map(t => 10 + 2 * t),
      "m/s",
    );
    for (const [fix, flags] of [
      [0, ["poor-fix"]],
      [1, ["poor-fix"]],
      [2, ["poor-fix"]],
      [3, []],
      [4, []],
      [6, []],
    ] as const) {
      const fixes = channel(
        "fix",
        timeS.map((_, i) => (i === 60 ? fix : 3)),
        "1",
      );
      assert.deepEqual(passesOfLog(logOf(timeS, [speed, fixes]), band)[0].flags, [...flags], `fix ${fix}`);
    }
  });
});
