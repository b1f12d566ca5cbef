import type {ArmName} from "../result/session.ts";
import {type BandPower, bandPowerW} from "./band-power.ts";
import {
  type CorrectionParts,
  correctionParts,
  levelRoad,
  type RunConditions,
  timeCorrectionS,
} from "./corrected-time.ts";
import {type RoadProfile, roadProfile} from "./road-profile.ts";
import {type SmoothPull, smoothPull} from "./smooth-pull.ts";
import {type CommonTrack, commonTrack, type RunPositions} from "./track.ts";
import {windFromDirections} from "./wind.ts";

/** One run of a day of pulls. */
export interface PullRun extends RunPositions {
  arm: ArmName;
  /** NaN = none; null = not logged */
  heightM: Float64Array | null;
  pass: {startS: number; elapsedS: number; elapsedUS: number} | null;
  /** enters the comparison; others still tell of the road */
  used: boolean;
  airDensityKgM3: number;
  massKg: number;
}

/** A number with its standard uncertainty. */
export interface Uncertain {
  value: number;
  u: number;
}

/** What is common to all runs. */
export interface DayInputs {
  mass: Uncertain;
  rotatingFactor: Uncertain;
  dragArea: Uncertain;
  rollingCoefficient: Uncertain;
  /** of the session's mean air */
  airDensity: Uncertain;
  /** stated wind against a car driving out [m/s]; null = from both directions, where they were driven */
  statedWind: Uncertain | null;
  gravityMps2: number;
  /** speeds at the ends of the band [m/s] */
  fromMps: number;
  toMps: number;
}

/** The wind that the correction took out. */
export interface DayWind extends Uncertain {
  basis: "stated" | "both directions" | "cannot be told";
  /** parts of `u` that come from the scatter of the runs and from the grade [m/s] */
  scatterU: number;
  gradeU: number;
  /** warnings by the limits of usual procedures */
  warnings: string[];
}

/** One run with its correction. */
export interface CorrectedRun {
  rawS: number;
  correctedS: number;
  parts: CorrectionParts;
  /** standard uncertainty of its own: reading the pass, and its place on the road [s] */
  uS: number;
  placeUS: number;
  power: BandPower;
  /** of the power, run by run: from the time [W] */
  powerUW: number;
  pull: SmoothPull;
  conditions: RunConditions;
}

/** A day of pulls brought to reference conditions: level, still, mean air, declared mass. */
export interface DayCorrection {
  /** one a run, in the order given; null with the reason in `problems` */
  runs: (CorrectedRun | null)[];
  problems: (string | null)[];
  track: CommonTrack;
  /** null where no heights were logged: then nothing is corrected for grade */
  profile: RoadProfile | null;
  wind: DayWind;
  reference: RunConditions;
  inputs: DayInputs;
  /** correction of every run when something is taken otherwise [s]; null as in `runs` */
  correctionsWith(change: Change): (number | null)[];
}

/** What is taken otherwise: common inputs, the profile's grade towards growing places, the wind against a car driving out. */
export interface Change
  extends Partial<
    Pick<DayInputs, "mass" | "rotatingFactor" | "dragArea" | "rollingCoefficient" | "airDensity">
  > {
  /** grade by place, uphill positive on the way out */
  gradeAt?: (placeM: number) => number;
  headwindOutMps?: number;
}

/** Wind that nothing tells: a day on which one drives pulls has about so much (k = 1) [m/s]. */
const UNTOLD_WIND_MPS = 2;
/** Grade difference between the directions that nothing tells: 0.1 %. */
const UNTOLD_GRADE = 1e-3;
/** Place of a run where positions do not tell its uncertainty [m]: a good satellite fix. */
const PLACE_U_M = 2;

/**
 * Corrects every run of a day: places on a common track, one road profile from all runs, one wind from both directions, then each
 * run's time to reference conditions along its own smoothed course.
 *
 * @throws {RangeError} inputs out of range, as `roadLoadN`
 */
export function correctDay(runs: readonly PullRun[], inputs: DayInputs): DayCorrection {
  const track = likeliestPlaces(
    commonTrack(
      runs,
      runs.map(run => run.pass?.startS ?? 0),
    ),
    runs,
  );
  const faults = runs.map((run, i) => track.places[i].problem ?? heightFault(run));
  const profile = profileOf(runs, track, faults);
  const pulls = runs.map(
    ({timeS, speedMps, pass}, i) =>
      pass &&
      smoothPull(
        {timeS, speedMps, placeM: track.places[i].placeM},
        {startS: pass.startS, endS: pass.startS + pass.elapsedS},
      ),
  );
  const signs = track.places.map(place => place.sign);
  const conditionsOf = (
    i: number,
    gradeAt: (placeM: number) => number,
    headwindOutMps: number,
  ): RunConditions => ({
    massKg: runs[i].massKg,
    rotatingFactor: inputs.rotatingFactor.value,
    dragAreaM2: inputs.dragArea.value,
    rollingCoefficient: inputs.rollingCoefficient.value,
    airDensityKgM3: runs[i].airDensityKgM3,
    headwindMps: directionSign(runs[i], signs[i]) * headwindOutMps,
    gradeAt: profile ? place => signs[i] * gradeAt(place) : levelRoad,
    gravityMps2: inputs.gravityMps2,
  });
  const wind = windOf(runs, pulls, conditionsOf, inputs, profile);
  const reference: RunConditions = {
    massKg: inputs.mass.value,
    rotatingFactor: inputs.rotatingFactor.value,
    dragAreaM2: inputs.dragArea.value,
    rollingCoefficient: inputs.rollingCoefficient.value,
    airDensityKgM3: inputs.airDensity.value,
    headwindMps: 0,
    gradeAt: levelRoad,
    gravityMps2: inputs.gravityMps2,
  };
  const problems = faults.slice();
  const placeUM = track.placeUM ?? PLACE_U_M;
  const corrected = runs.map(({pass}, i): CorrectedRun | null => {
    const pull = pulls[i];
    if (!pass || !pull) {
      problems[i] ??= pass ? "too few samples in its pass to smooth" : "it has no pass through the band";
      return null;
    }
    const conditions = conditionsOf(i, profile?.gradeAt ?? levelRoad, wind.value);
    const parts = correctionParts(pull, conditions, reference);
    if (parts === null) {
      problems[i] ??= "it does not gain speed throughout its pass, so its time cannot be corrected";
      return null;
    }
    const shifted = {...pull, placeM: pull.placeM.map(place => place + placeUM)};
    const placeUS = Math.abs((timeCorrectionS(shifted, conditions, reference) ?? parts.total) - parts.total);
    const power = bandPowerW(pull, conditions, {...inputs, elapsedS: pass.elapsedS});
    return {
      rawS: pass.elapsedS,
      correctedS: pass.elapsedS + parts.total,
      parts,
      placeUS,
      uS: Math.hypot(pass.elapsedUS, placeUS),
      power,
      powerUW: (power.inertiaW * pass.elapsedUS) / pass.elapsedS,
      pull,
      conditions,
    };
  });
  const correctionsWith = ({gradeAt, headwindOutMps, ...common}: Change): (number | null)[] => {
    const taken = {...inputs, ...common};
    const massRatio = taken.mass.value / inputs.mass.value;
    const airRatio = taken.airDensity.value / inputs.airDensity.value;
    const shared = {
      rotatingFactor: taken.rotatingFactor.value,
      dragAreaM2: taken.dragArea.value,
      rollingCoefficient: taken.rollingCoefficient.value,
    };
    // another grade tells another wind, where the wind comes from the directions
    const headwind =
      headwindOutMps ??
      (gradeAt && wind.basis === "both directions"
        ? toldWind(runs, pulls, conditionsOf, gradeAt)?.headwindOutMps
        : undefined) ??
      wind.value;
    return corrected.map((run, i) => {
      if (!run) return null;
      const conditions = conditionsOf(i, gradeAt ?? profile?.gradeAt ?? levelRoad, headwind);
      return timeCorrectionS(
        run.pull,
        {
          ...conditions,
          ...shared,
          massKg: conditions.massKg * massRatio,
          airDensityKgM3: conditions.airDensityKgM3 * airRatio,
        },
        {...reference, ...shared, massKg: taken.mass.value, airDensityKgM3: taken.airDensity.value},
      );
    });
  };
  return {runs: corrected, problems, track, profile, wind, reference, inputs, correctionsWith};
}

/** +1 on the way out: what is written wins, else the way that places grow. */
function directionSign({direction}: PullRun, sign: 1 | -1): 1 | -1 {
  return direction === null ? sign : direction === "out" ? 1 : -1;
}

/** However alike the runs start, so much of the positions' variance is left in their places. */
const LEAST_KEPT = 0.1;

/**
 * Draws the places of the runs of a direction together by the part of their scatter that is error of the positions, 1 − u²/s² with s
 * the scatter seen (B. Efron and C. Morris, J. Amer. Statist. Assoc. 70 (1975) 311): a place read off is partly luck. Runs that
 * start alike then keep one place, and the correction adds no noise to them.
 */
function likeliestPlaces(track: CommonTrack, runs: readonly PullRun[]): CommonTrack {
  const u = track.placeUM;
  if (track.by === "distance" || u === null) return track;
  const starts = runs.map(({pass, timeS}, i) => {
    const row = pass ? timeS.findIndex(time => time >= pass.startS) : -1;
    return row < 0 ? Number.NaN : track.places[i].placeM[row];
  });
  const places = track.places.slice();
  let kept = 1;
  for (const sign of [1, -1]) {
    const group = places.flatMap((place, i) =>
      place.sign === sign && Number.isFinite(starts[i]) ? [i] : [],
    );
    if (group.length < 3) continue;
    const middle = group.reduce((sum, i) => sum + starts[i], 0) / group.length;
    const scatter2 = group.reduce((sum, i) => sum + (starts[i] - middle) ** 2, 0) / (group.length - 1);
    const keep = scatter2 > 0 ? Math.max(0, 1 - (u * u) / scatter2) : 0;
    kept = Math.min(kept, keep);
    for (const i of group) {
      const shift = (keep - 1) * (starts[i] - middle);
      places[i] = {...places[i], placeM: places[i].placeM.map(value => value + shift)};
    }
  }
  return {...track, places, placeUM: u * Math.sqrt(Math.max(LEAST_KEPT, kept))};
}

/** Heights that jump faster than any road [m in one step of at most a second]. */
const STEP_M = 2.5;

function heightFault({heightM, timeS, speedMps}: PullRun): string | null {
  if (!heightM) return null;
  let before = -1;
  for (let i = 0; i < heightM.length; i++) {
    if (!Number.isFinite(heightM[i])) continue;
    if (before >= 0) {
      const step = Math.abs(heightM[i] - heightM[before]);
      const travelled = (timeS[i] - timeS[before]) * (speedMps[i] || 0);
      if (step > STEP_M && step > 0.3 * travelled)
        return `its height steps by ${step.toFixed(1)} m at ${timeS[i].toFixed(1)} s, so it tells nothing of the road`;
    }
    before = i;
  }
  return null;
}

/** One profile of all runs; by distance alone only one direction makes one, since nothing ties the two together. */
function profileOf(
  runs: readonly PullRun[],
  track: CommonTrack,
  faults: readonly (string | null)[],
): RoadProfile | null {
  if (track.by === "distance" && new Set(track.places.map(place => place.sign)).size > 1) return null;
  const none = new Float64Array(0);
  return roadProfile(
    runs.map(({heightM}, i) => {
      const usable =
        heightM && (faults[i] === null || track.by === "distance") && heightFault(runs[i]) === null;
      return usable ? {placeM: track.places[i].placeM, heightM} : {placeM: none, heightM: none};
    }),
  );
}

type ConditionsOf = (i: number, gradeAt: (placeM: number) => number, headwindOutMps: number) => RunConditions;

function windOf(
  runs: readonly PullRun[],
  pulls: readonly (SmoothPull | null)[],
  conditionsOf: ConditionsOf,
  {statedWind}: DayInputs,
  profile: RoadProfile | null,
): DayWind {
  if (statedWind)
    return {
      ...statedWind,
      basis: "stated",
      scatterU: statedWind.u,
      gradeU: 0,
      warnings: windWarnings(statedWind.value),
    };
  const told = (gradeAt: (placeM: number) => number) => toldWind(runs, pulls, conditionsOf, gradeAt);
  const both = new Set(runs.map(run => run.direction)).size > 1;
  const found = both && profile ? told(profile.gradeAt) : null;
  // a wind that is known worse than by what days have is none to correct by
  if (!found || found.scatterUMps === null || found.scatterUMps > UNTOLD_WIND_MPS || !profile)
    return {
      value: 0,
      u: UNTOLD_WIND_MPS,
      basis: "cannot be told",
      scatterU: UNTOLD_WIND_MPS,
      gradeU: 0,
      warnings: [],
    };
  const variance = profile.varianceOf(gradeAt => told(gradeAt)?.headwindOutMps ?? 0);
  const gradeU = variance === null ? UNTOLD_GRADE * 750 : Math.sqrt(variance);
  return {
    value: found.headwindOutMps,
    u: Math.hypot(found.scatterUMps, gradeU),
    basis: "both directions",
    scatterU: found.scatterUMps,
    gradeU,
    warnings: windWarnings(found.headwindOutMps),
  };
}

/** The wind that both directions tell, with a given grade. */
function toldWind(
  runs: readonly PullRun[],
  pulls: readonly (SmoothPull | null)[],
  conditionsOf: ConditionsOf,
  gradeAt: (placeM: number) => number,
) {
  return windFromDirections(
    runs.flatMap((run, i) => {
      const pull = pulls[i];
      if (!pull || !run.used || run.direction === null) return [];
      return [{pull, direction: run.direction, arm: run.arm, conditions: conditionsOf(i, gradeAt, 0)}];
    }),
  );
}

function windWarnings(meanMps: number): string[] {
  return Math.abs(meanMps) > 5
    ? [
        `the wind along the road is ${Math.abs(meanMps).toFixed(1)} m/s; usual coastdown procedures (UN GTR 15) stop at 5 m/s mean, 8 m/s peak and 2 m/s across the road`,
      ]
    : [];
}
