import {studentTQuantile} from "../stats/distributions.ts";
import {type DrawnResult, propagateDistributions} from "../stats/monte-carlo.ts";
import type {Random} from "../stats/random.ts";
import type {Change, DayCorrection, DayInputs} from "./day-correction.ts";

/** One line of the uncertainty budget of the correction of a difference between arms. */
export interface BudgetRow {
  input:
    | "mass"
    | "rotating parts"
    | "drag area"
    | "rolling coefficient"
    | "air density"
    | "wind"
    | "road profile"
    | "place of each run";
  /** shared by both arms, or new in each run */
  kind: "shared" | "run by run";
  /** value and standard uncertainty of the input, in words with unit; null for a curve */
  inputWords: string;
  /** what it adds to the standard uncertainty of the difference [s] */
  contributionS: number;
  df: number;
}

/** Uncertainty of the correction of the difference changed − baseline; the scatter of the times themselves is not in it. */
export interface CorrectionBudget {
  /** corrected − raw difference [s] */
  correctionS: number;
  rows: BudgetRow[];
  sharedUS: number;
  runByRunUS: number;
  uS: number;
  /** Welch–Satterthwaite (JCGM 100:2008, G.4) */
  df: number;
  /** half width of the 95 % interval of the correction [s] */
  expandedS: number;
}

/**
 * Weights of the runs in the difference changed − baseline: that of the means, where both directions were driven by least squares
 * with a term for the direction, so that what turns round with it cancels.
 *
 * @param arms       of each run; null = does not enter, weight 0
 * @param directions of each run; default all alike
 * @throws {RangeError} arms cannot be compared within any direction
 */
export function armWeights(
  arms: readonly ("baseline" | "changed" | null)[],
  directions: readonly (string | null)[] = arms.map(() => null),
): number[] {
  const share = new Map<string | null, {changed: number; runs: number}>();
  arms.forEach((arm, i) => {
    if (arm === null) return;
    const group = share.get(directions[i]) ?? {changed: 0, runs: 0};
    share.set(directions[i], {changed: group.changed + Number(arm === "changed"), runs: group.runs + 1});
  });
  const rest = arms.map((arm, i) => {
    if (arm === null) return 0;
    const {changed, runs} = share.get(directions[i])!;
    return Number(arm === "changed") - changed / runs;
  });
  const squares = rest.reduce((sum, value) => sum + value * value, 0);
  if (!(squares > 0)) throw new RangeError("armWeights: no direction has runs of both arms");
  return rest.map(value => value / squares);
}

/**
 * GUM budget (JCGM 100:2008) of the correction of a difference: every common input moved by its standard uncertainty both ways, the
 * profile by what each run adds to its error, the place of each run by itself.
 *
 * @param weights of the runs in the difference, from `armWeights`; runs without a correction need weight 0
 * @throws {RangeError} a run with a weight has no correction
 */
export function correctionBudget(day: DayCorrection, weights: readonly number[]): CorrectionBudget {
  const difference = differenceWith(day, weights);
  const {inputs, wind, profile, track} = day;
  const moved = (change: (sign: 1 | -1) => Change) =>
    Math.abs(difference(change(1)) - difference(change(-1))) / 2;
  const common = (
    input: BudgetRow["input"],
    key: "mass" | "rotatingFactor" | "dragArea" | "rollingCoefficient" | "airDensity",
    unit: string,
  ): BudgetRow => {
    const {value, u} = inputs[key];
    return {
      input,
      kind: "shared",
      inputWords: `${Number(value.toPrecision(4))} ± ${Number(u.toPrecision(2))}${unit}`,
      contributionS: moved(sign => ({[key]: {value: value + sign * u, u}})),
      df: Number.POSITIVE_INFINITY,
    };
  };
  const rows: BudgetRow[] = [
    common("mass", "mass", " kg"),
    common("rotating parts", "rotatingFactor", " × mass"),
    common("drag area", "dragArea", " m²"),
    common("rolling coefficient", "rollingCoefficient", ""),
    common("air density", "airDensity", " kg/m³"),
    {
      input: "wind",
      kind: "shared",
      inputWords: `${wind.value.toFixed(2)} ± ${wind.u.toFixed(2)} m/s, ${wind.basis}`.replace(/^-/, "−"),
      contributionS: moved(sign => ({headwindOutMps: wind.value + sign * wind.scatterU})),
      df: Number.POSITIVE_INFINITY,
    },
  ];
  const placeUS = Math.sqrt(
    weights.reduce((sum, weight, i) => sum + (weight * (day.runs[i]?.placeUS ?? 0)) ** 2, 0),
  );
  if (profile) {
    rows.push({
      input: "road profile",
      kind: "shared",
      inputWords: `${profile.runs} runs, residual ${profile.residualSdM.toFixed(2)} m`,
      contributionS: Math.sqrt(profile.varianceOf(gradeAt => difference({gradeAt})) ?? 0),
      df: Math.max(1, profile.runs - 1),
    });
    rows.push({
      input: "place of each run",
      kind: "run by run",
      inputWords:
        track.placeUM === null
          ? "by rule, ± 2 m"
          : `± ${track.placeUM.toFixed(1)} m, from the scatter across the road`,
      contributionS: placeUS,
      df: track.placeUM === null ? Number.POSITIVE_INFINITY : Math.max(1, profile.runs - 1),
    });
  }
  const squares = (kind: BudgetRow["kind"]) =>
    rows.reduce((sum, row) => sum + (row.kind === kind ? row.contributionS ** 2 : 0), 0);
  const uS = Math.sqrt(squares("shared") + squares("run by run"));
  const spread = rows.reduce((sum, row) => sum + row.contributionS ** 4 / row.df, 0);
  const df = spread > 0 ? uS ** 4 / spread : Number.POSITIVE_INFINITY;
  return {
    correctionS: difference({}),
    rows,
    sharedUS: Math.sqrt(squares("shared")),
    runByRunUS: Math.sqrt(squares("run by run")),
    uS,
    df,
    expandedS: uS === 0 ? 0 : uS * studentTQuantile(0.975, Math.min(df, 1e6)),
  };
}

/**
 * The same by drawing (JCGM 101:2008): every input normal about its value, all at once, the profile by a random mixture of what each
 * run adds. It says whether the budget's straight lines are good enough.
 *
 * @param options random source from a printed seed; nTrials, default 2000
 */
export function drawnCorrection(
  day: DayCorrection,
  weights: readonly number[],
  {random, nTrials = 2000}: {random: Random; nTrials?: number},
): DrawnResult {
  const difference = differenceWith(day, weights);
  const {inputs, wind, profile} = day;
  const scale = profile && profile.runs > 1 ? Math.sqrt(profile.runs / (profile.runs - 1)) : 0;
  const drawn = (
    key: keyof Pick<DayInputs, "mass" | "rotatingFactor" | "dragArea" | "rollingCoefficient" | "airDensity">,
  ) => ({
    value: inputs[key].value + inputs[key].u * random.normal(),
    u: 0,
  });
  return propagateDistributions(
    () => {
      const change: Change = {
        mass: drawn("mass"),
        rotatingFactor: drawn("rotatingFactor"),
        dragArea: drawn("dragArea"),
        rollingCoefficient: drawn("rollingCoefficient"),
        airDensity: drawn("airDensity"),
        headwindOutMps: wind.value + wind.scatterU * random.normal(),
      };
      if (profile) {
        const mix = Array.from({length: profile.runs}, () => scale * random.normal());
        change.gradeAt = place =>
          mix.reduce(
            (grade, share, u) => grade + share * (profile.gradeWith(u, place) - profile.gradeAt(place)),
            profile.gradeAt(place),
          );
      }
      const places = weights.reduce(
        (sum, weight, i) => sum + weight * (day.runs[i]?.placeUS ?? 0) * random.normal(),
        0,
      );
      return difference(change) + places;
    },
    {random, nTrials},
  );
}

/** Weighted sum of the runs' corrections when something is taken otherwise [s]. */
function differenceWith(day: DayCorrection, weights: readonly number[]): (change: Change) => number {
  weights.forEach((weight, i) => {
    if (weight !== 0 && !day.runs[i])
      throw new RangeError(
        `correctionBudget: run ${i + 1} has a weight but no correction: ${day.problems[i]}`,
      );
  });
  return change => {
    const corrections = day.correctionsWith(change);
    return weights.reduce((sum, weight, i) => (weight === 0 ? sum : sum + weight * (corrections[i] ?? 0)), 0);
  };
}
