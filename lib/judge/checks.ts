import type {CheckOutcome, CheckRecord} from "../result/documents.ts";
import type {Channel} from "../result/log.ts";
import type {ArmName, Conditions} from "../result/session.ts";
import type {LoadedRun, TestDay} from "../run/day.ts";

/** Full throttle is asked for from this long before band entry, so that boost and gearbox have settled. */
const THROTTLE_LEAD_S = 0.5;
/** A throttle or pedal that reads at least this share of the largest reading of the day counts as fully open. */
const THROTTLE_OPEN = 0.95;
/** 40 CFR 1066 and WLTP drafts let at most a third of the runs be dropped. */
const MAX_DROPPED_SHARE = 1 / 3;
/** Air 5 K warmer is 1.7 % thinner (ideal gas at 293 K): about as much as many a part is worth. */
const AIR_DIFFERENCE_K = 5;
/** Intake air 8 K warmer at the start of a run is 2.7 % thinner. */
const INTAKE_DIFFERENCE_K = 8;
/** 15 litres of fuel weigh about 11 kg: 0.8 % of a small car, and as much of the band time. */
const FUEL_DIFFERENCE_M3 = 0.015;
/** 1 m/s of headwind changes the drag at 85 km/h by about 8 %, the band time by about 1 %. */
const WIND_DIFFERENCE_MPS = 1;
/** Starting places of the arms further apart than this may lie on another grade. */
const PLACE_DIFFERENCE_M = 40;
/** Recorders whose sample steps differ by more than this share are not the same setting. */
const RATE_DIFFERENCE = 0.1;
/** Mean Earth radius [m] (IUGG), good to 0.5 % for distances of metres. */
const EARTH_RADIUS_M = 6_371_009;

type Outcome = [outcome: CheckOutcome, words: string];

/** One row of the list of checks: a name and how it comes out on a day. */
interface Check {
  name: string;
  judge(day: TestDay, used: readonly LoadedRun[]): Outcome;
}

const CHECKS: readonly Check[] = [
  {name: "every run has its pass", judge: checkPasses},
  {name: "doubts about samples", judge: checkFlags},
  {name: "same recorder", judge: checkRecorder},
  {name: "full throttle", judge: checkThrottle},
  {name: "dropped runs", judge: checkDropped},
  {name: "starting place", judge: checkPlace},
  {
    name: "air temperature",
    judge: byCondition("airTemperatureK", AIR_DIFFERENCE_K, 1, "K", "air temperature"),
  },
  {
    name: "intake temperature",
    judge: byCondition("intakeTemperatureK", INTAKE_DIFFERENCE_K, 1, "K", "intake air"),
  },
  {name: "fuel", judge: byCondition("fuelM3", FUEL_DIFFERENCE_M3, 1000, "litres", "fuel on board")},
  {name: "wind", judge: byCondition("windMps", WIND_DIFFERENCE_MPS, 1, "m/s", "headwind")},
];

/**
 * Checks of the day itself, beside those of the design that `compare` makes. A check whose channel or note is
 * missing is "not checkable", never "held".
 *
 * @param used runs that enter the comparison
 */
export function fairnessChecks(day: TestDay, used: readonly LoadedRun[]): CheckRecord[] {
  return CHECKS.map(({name, judge}) => {
    const [outcome, words] = judge(day, used);
    return {name, outcome, words};
  });
}

function checkPasses(day: TestDay): Outcome {
  const without = day.runs.filter(run => run.run.exclude === null && !run.pass);
  if (without.length === 0)
    return ["held", "every run that was not excluded has exactly one pass through the band"];
  return [
    "doubtful",
    without.map(run => `run ${run.run.run} (${run.run.file}) is not used: ${run.problem}`).join("; "),
  ];
}

function checkFlags(_day: TestDay, used: readonly LoadedRun[]): Outcome {
  const flagged = used.filter(run => run.pass!.flags.length > 0);
  if (flagged.length === 0) return ["held", "no pass carries a flag"];
  const words = flagged.map(run => `run ${run.run.run}: ${run.pass!.flags.join(", ")}`).join("; ");
  return ["doubtful", `flags within the band: ${words}`];
}

function checkRecorder(_day: TestDay, used: readonly LoadedRun[]): Outcome {
  const source = (run: LoadedRun) => `${run.log.format}, column "${channel(run, "speed")?.column ?? "?"}"`;
  const sources = {baseline: sourcesOf("baseline"), changed: sourcesOf("changed")};
  const all = new Set([...sources.baseline, ...sources.changed]);
  if (all.size > 1) {
    const separate = ![...sources.baseline].some(name => sources.changed.has(name));
    return separate
      ? [
          "failed",
          `the arms were recorded in different ways (baseline: ${[...sources.baseline].join("; ")}; changed: ${[...sources.changed].join("; ")})`,
        ]
      : ["doubtful", `runs were recorded in different ways: ${[...all].join("; ")}`];
  }
  const steps = used.map(medianStep);
  const [shortest, longest] = [Math.min(...steps), Math.max(...steps)];
  if (longest > shortest * (1 + RATE_DIFFERENCE)) {
    return [
      "doubtful",
      `sample steps differ between runs: ${shortest.toFixed(3)} to ${longest.toFixed(3)} s`,
    ];
  }
  return ["held", `one source (${[...all][0]}) with a step of ${shortest.toFixed(3)} s in every run`];

  function sourcesOf(arm: ArmName): Set<string> {
    return new Set(used.filter(run => run.run.arm === arm).map(source));
  }
}

function checkThrottle(day: TestDay, used: readonly LoadedRun[]): Outcome {
  const pedal = (run: LoadedRun) => channel(run, "throttle") ?? channel(run, "pedal");
  if (used.some(run => !pedal(run))) return ["not-checkable", "no throttle or pedal was logged in every run"];
  const largest = Math.max(...day.runs.map(run => largestOf(pedal(run)?.values ?? [])));
  const late = used.filter(run => {
    const {values} = pedal(run)!;
    const {timeS} = run.log;
    const {startS, elapsedS} = run.pass!;
    for (let i = run.first; i < run.end; i++) {
      const inside = timeS[i] >= startS - THROTTLE_LEAD_S && timeS[i] <= startS + elapsedS;
      if (inside && values[i] < THROTTLE_OPEN * largest) return true;
    }
    return false;
  });
  if (late.length === 0)
    return ["held", `fully open from ${THROTTLE_LEAD_S} s before the band to its end in every run`];
  const words = `part throttle in ${late.map(run => `run ${run.run.run}`).join(", ")}`;
  for (const arm of ["baseline", "changed"] as const) {
    const inArm = used.filter(run => run.run.arm === arm).length;
    if (late.filter(run => run.run.arm === arm).length > inArm / 2)
      return ["failed", `${words}: most of the ${arm} runs`];
  }
  return ["doubtful", words];
}

function checkDropped(day: TestDay): Outcome {
  const dropped = (arm: ArmName) => {
    const runs = day.runs.filter(run => run.run.arm === arm);
    return {out: runs.filter(run => run.run.exclude !== null || !run.pass).length, of: runs.length};
  };
  const [baseline, changed] = [dropped("baseline"), dropped("changed")];
  const words = `${baseline.out} of ${baseline.of} baseline and ${changed.out} of ${changed.of} changed runs were dropped`;
  const known = day.runs.filter(run => run.run.excludedBefore === "result known");
  if (known.length) return ["doubtful", `${words}, ${known.length} of them after the result was known`];
  const tooMany = [baseline, changed].some(({out, of}) => out > MAX_DROPPED_SHARE * of);
  const uneven = Math.abs(baseline.out - changed.out) > 1;
  if (tooMany || uneven)
    return [
      "doubtful",
      `${words}${tooMany ? ": more than a third of an arm" : ": more in one arm than in the other"}`,
    ];
  return ["held", words];
}

function checkPlace(_day: TestDay, used: readonly LoadedRun[]): Outcome {
  const places = used.map(run => {
    const latitude = channel(run, "latitude");
    const longitude = channel(run, "longitude");
    const at = run.log.timeS.findIndex(time => time >= run.pass!.startS);
    if (!latitude || !longitude || at < 0) return null;
    const [north, east] = [latitude.values[at], longitude.values[at]];
    if (!Number.isFinite(north) || !Number.isFinite(east)) return null;
    return {arm: run.run.arm, direction: run.run.direction, north, east};
  });
  if (places.some(place => place === null))
    return ["not-checkable", "positions were not logged in every run"];
  const largest = Math.max(
    0,
    ...["out", "back", null].map(direction => {
      const here = places.filter(place => place!.direction === direction);
      const middle = (arm: ArmName) =>
        meanPlace(here.filter(place => place!.arm === arm) as {north: number; east: number}[]);
      const [a, b] = [middle("baseline"), middle("changed")];
      return a && b ? flatDistanceM(a, b) : 0;
    }),
  );
  const words = `mean place of band entry differs by ${largest.toFixed(0)} m between the arms`;
  return largest > PLACE_DIFFERENCE_M ? ["doubtful", words] : ["held", words];
}

/** A check that compares a noted condition between the arms. `scale` turns SI into the printed unit. */
function byCondition(
  key: keyof Conditions,
  limit: number,
  scale: number,
  unit: string,
  what: string,
): Check["judge"] {
  return (_day, used) => {
    const values = (arm: ArmName) =>
      used.filter(run => run.run.arm === arm).map(run => run.run.conditions[key]);
    const [baseline, changed] = [values("baseline"), values("changed")];
    if ([...baseline, ...changed].some(value => value === null) || !baseline.length || !changed.length) {
      return ["not-checkable", `${what} was not noted for every run`];
    }
    const difference = meanOf(changed as number[]) - meanOf(baseline as number[]);
    const words = `mean ${what} of the changed arm is ${signed(difference * scale)} ${unit} against the baseline`;
    return Math.abs(difference) > limit
      ? ["doubtful", `${words}, more than ${limit * scale} ${unit}`]
      : ["held", words];
  };
}

function channel(run: LoadedRun, name: string): Channel | undefined {
  return run.log.channels.find(candidate => candidate.name === name);
}

function medianStep(run: LoadedRun): number {
  const steps: number[] = [];
  for (let i = run.first + 1; i < run.end; i++) steps.push(run.log.timeS[i] - run.log.timeS[i - 1]);
  steps.sort((a, b) => a - b);
  return steps[steps.length >> 1] ?? 0;
}

function largestOf(values: ArrayLike<number>): number {
  let largest = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < values.length; i++) if (values[i] > largest) largest = values[i];
  return largest;
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function meanPlace(places: readonly {north: number; east: number}[]): {north: number; east: number} | null {
  if (places.length === 0) return null;
  return {north: meanOf(places.map(place => place.north)), east: meanOf(places.map(place => place.east))};
}

/** Distance [m] of two places given in degrees, at most a few kilometres apart. */
function flatDistanceM(a: {north: number; east: number}, b: {north: number; east: number}): number {
  const radian = Math.PI / 180;
  const north = a.north - b.north;
  const east = (a.east - b.east) * Math.cos(((a.north + b.north) / 2) * radian);
  return EARTH_RADIUS_M * radian * Math.hypot(north, east);
}

function signed(value: number): string {
  return `${value < 0 ? "−" : "+"}${Math.abs(value).toFixed(1)}`;
}
