import type {CorrectionRecord, IntervalRecord, VerdictState} from "../result/documents.ts";
import {timeCorrectionS} from "../roadload/corrected-time.ts";
import {armWeights, correctionBudget} from "../roadload/correction-budget.ts";
import type {CorrectedRun} from "../roadload/day-correction.ts";
import type {TestDay} from "../run/day.ts";
import {correctionOf} from "./correction.ts";

/** What came of the comparison before and after the correction. */
export interface BothAnswers {
  raw: {estimate: number | null; interval: IntervalRecord | null; state: VerdictState};
  corrected: {estimate: number | null; interval: IntervalRecord | null; state: VerdictState};
}

/** Two standard uncertainties hold 95 %. */
const COVERAGE_FACTOR = 2;

/**
 * Everything that a page needs to show of a correction: raw and corrected times side by side, the size of each correction, its
 * uncertainty shared and run by run, what would erase or fake the difference, warnings.
 *
 * @throws {InputError} as `correctionOf`
 */
export function correctionRecord(day: TestDay, {raw, corrected}: BothAnswers): CorrectionRecord {
  const correction = correctionOf(day);
  const {wind, profile, inputs} = correction;
  const enters = day.runs.map(({run}, i) => run.exclude === null && correction.runs[i] !== null);
  const arms = day.runs.map(({run}, i) => (enters[i] ? run.arm : null));
  const within = armWeightsOrNull(
    arms,
    day.runs.map(({run}) => run.direction),
  );
  const weights = within ?? armWeights(arms);
  const budget = correctionBudget(correction, weights);
  const difference = (of: (run: CorrectedRun) => number) =>
    weights.reduce((sum, weight, i) => (weight === 0 ? sum : sum + weight * of(correction.runs[i]!)), 0);
  const parts = {
    grade_s: difference(run => run.parts.grade),
    wind_s: difference(run => run.parts.wind),
    air_s: difference(run => run.parts.air),
    mass_s: difference(run => run.parts.mass),
  };
  const warnings = [...wind.warnings];
  if (corrected.estimate !== null && Math.abs(budget.correctionS) > Math.abs(corrected.estimate))
    warnings.push(
      `the correction of the difference (${seconds(budget.correctionS)}) is larger than what is left of it (${seconds(corrected.estimate)}): the answer rests on the correction`,
    );
  if (raw.state !== corrected.state)
    warnings.push(`without the correction the answer is another one: ${raw.state.replaceAll("-", " ")}`);
  if (wind.basis === "cannot be told")
    warnings.push(
      "the wind cannot be told: it takes runs of both arms in both directions with heights and positions, or a stated wind; what it does to all runs alike nearly cancels in the difference",
    );
  if (!profile)
    warnings.push(
      "no heights were logged, or places of both directions cannot be tied: nothing is corrected for grade",
    );
  return {
    reference: `level road, still air of ${inputs.airDensity.value.toFixed(3)} kg/m³ (the session's mean), ${inputs.mass.value} kg; what the engine itself makes of other air or heat is not corrected`,
    runs: day.runs.flatMap(({run}, i) => {
      const entry = correction.runs[i];
      if (!entry) return [];
      const {grade, wind: windS, air, mass, total} = entry.parts;
      return {
        run: run.run,
        raw_s: entry.rawS,
        corrected_s: entry.correctedS,
        grade_s: grade,
        wind_s: windS,
        air_s: air,
        mass_s: mass,
        correction_s: total,
      };
    }),
    difference: {
      raw_s: difference(run => run.rawS),
      ...parts,
      corrected_s: difference(run => run.correctedS),
    },
    words: {
      raw: rawWords(raw),
      size: `${seconds(budget.correctionS)} in the difference (grade ${seconds(parts.grade_s)}, wind ${seconds(parts.wind_s)}, air ${seconds(parts.air_s)}, mass ${seconds(parts.mass_s)}), known to ± ${budget.expandedS.toFixed(3)} s (95 %)`,
    },
    raw,
    interval_with_correction: widened(corrected.interval, corrected.estimate, budget.sharedUS),
    wind: {headwind_out_mps: wind.value, u_mps: wind.u, grade_u_mps: wind.gradeU, basis: wind.basis},
    profile: profile && {
      runs: profile.runs,
      from_m: profile.fromM,
      to_m: profile.toM,
      residual_m: profile.residualSdM,
    },
    budget: {
      shared_u_s: budget.sharedUS,
      run_by_run_u_s: budget.runByRunUS,
      u_s: budget.uS,
      expanded_s: budget.expandedS,
      rows: budget.rows.map(({input, kind, inputWords, contributionS}) => ({
        input,
        kind,
        value: inputWords,
        contribution_s: contributionS,
      })),
    },
    sensitivity: sensitivityOf(
      day.runs.flatMap(({run}, i) => (enters[i] && run.arm === "changed" ? [correction.runs[i]!] : [])),
      correction.reference,
      {fromMps: inputs.fromMps, toMps: inputs.toMps, estimate: corrected.estimate},
    ),
    assumed: correction.assumed,
    problems: day.runs.flatMap(({run}, i) =>
      correction.problems[i] === null ? [] : {run: run.run, words: correction.problems[i]!},
    ),
    warnings,
  };
}

/** Weights within directions; null where each arm kept to one of them. */
function armWeightsOrNull(...given: Parameters<typeof armWeights>): number[] | null {
  try {
    return armWeights(...given);
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
}

/** The interval made wider by what both arms share, as independent of the scatter. */
function widened(
  interval: IntervalRecord | null,
  estimate: number | null,
  sharedUS: number,
): IntervalRecord | null {
  if (interval === null || estimate === null) return null;
  const out = (limit: number) =>
    Math.sign(limit - estimate) * Math.hypot(limit - estimate, COVERAGE_FACTOR * sharedUS);
  return {
    ...interval,
    low: estimate + out(interval.low),
    high: estimate + out(interval.high),
    method: `${interval.method}, with the shared uncertainty of the correction`,
  };
}

/** How large an error in the changed arm alone would make or erase the difference. */
function sensitivityOf(
  runs: readonly CorrectedRun[],
  reference: CorrectedRun["conditions"],
  {fromMps, toMps, estimate}: {fromMps: number; toMps: number; estimate: number | null},
): CorrectionRecord["sensitivity"] {
  const mean = (of: (run: CorrectedRun) => number) =>
    runs.reduce((sum, run) => sum + of(run), 0) / runs.length;
  const moved = (change: (conditions: CorrectedRun["conditions"]) => Partial<CorrectedRun["conditions"]>) =>
    mean(run => {
      const conditions = {...run.conditions, ...change(run.conditions)};
      return (timeCorrectionS(run.pull, conditions, reference) ?? run.parts.total) - run.parts.total;
    });
  const row = (input: string, step: number, unit: string, perStepS: number) => ({
    input,
    step,
    unit,
    effect_s: perStepS,
    to_erase: estimate === null || perStepS === 0 ? null : Math.abs((step * estimate) / perStepS),
  });
  const radius = mean(({pull}) => {
    const [a1, a2] = [pull.accelerationMps2[0], pull.accelerationMps2[pull.timeS.length - 1]];
    return 0.01 * (toMps / a2 - fromMps / a1); // by Leibniz: both ends of the band move with the scale of speed
  });
  return [
    row(
      "grade",
      0.001,
      "1",
      moved(({gradeAt}) => ({gradeAt: place => gradeAt(place) + 0.001})),
    ),
    row(
      "wind",
      1,
      "m/s",
      moved(({headwindMps}) => ({headwindMps: headwindMps + 1})),
    ),
    row(
      "mass",
      10,
      "kg",
      moved(({massKg}) => ({massKg: massKg + 10})),
    ),
    row("tyre radius, where speed is that of the wheels", 1, "%", radius),
  ];
}

/** The answer as driven: "−0.223 s (95 % interval −0.416 s to −0.030 s): shown better". */
function rawWords({estimate, interval, state}: BothAnswers["raw"]): string {
  const size = estimate === null ? "no difference can be told" : seconds(estimate);
  const range = interval
    ? ` (${Number((100 * interval.level).toFixed(3))} % interval ${seconds(interval.low)} to ${seconds(interval.high)})`
    : "";
  return `${size}${range}: ${state.replaceAll("-", " ")}`;
}

function seconds(value: number): string {
  const text = Math.abs(value).toFixed(3);
  return `${value < 0 && Number(text) !== 0 ? "−" : "+"}${text} s`;
}
