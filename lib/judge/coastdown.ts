import {resolve} from "node:path";
import {requireChannel} from "../log/channel.ts";
import {readLog} from "../log/read.ts";
import type {CoastdownDocument, LoadTerm} from "../result/coastdown-document.ts";
import type {CheckRecord} from "../result/documents.ts";
import {InputError} from "../result/error.ts";
import type {Log} from "../result/log.ts";
import {VERSION} from "../result/version.ts";
import {coastFaults} from "../roadload/coast-faults.ts";
import type {CoastRun} from "../roadload/coast-run.ts";
import {type CoastEstimate, fitCoastdown} from "../roadload/coastdown.ts";
import {toDragAndRolling} from "../roadload/coefficients.ts";
import {atReference, ROLLING_PER_K} from "../roadload/reference-conditions.ts";
import {rotatingMass} from "../roadload/rotating-mass.ts";
import {sessionAir} from "../roadload/session-air.ts";
import type {CoastdownSession, CoastdownSessionRun} from "../run/coastdown-session.ts";
import {passesOfLog} from "../run/passes.ts";
import {usableChannel} from "../run/usable-channel.ts";
import {coastdownAnswer} from "./coastdown-words.ts";
import {meanResiduals} from "./mean-residuals.ts";

/** Tyres, bearings and gears need so long to warm through (usual coastdown procedures; 20 min in UN GTR 15, from memory) [s]. */
const WARM_UP_S = 15 * 60;
/** Usual coastdown procedures stop at this mean wind [m/s] (UN GTR 15). */
const MOST_WIND_MPS = 5;
/** Speeds at which the total force is told [m/s]. */
const TOLD_MPS = [60, 80, 100, 120].map(speed => speed / 3.6);

/**
 * Answers a session of `test: coastdown`: the terms of the road load with intervals from the spread of its runs.
 *
 * The road's slope cancels between the directions as far as it is the same for both; a common one is fitted with the wind.
 *
 * @throws {InputError} 2: a log is missing; 1: a log cannot be read, or fewer than 2 runs can be used, with the reasons
 */
export function judgeCoastdown(session: CoastdownSession): CoastdownDocument {
  const logs = new Map<string, Log>();
  const loaded = session.runs.map(run => {
    const log =
      logs.get(run.file) ??
      readLog(resolve(session.folder, run.file), {columns: session.columns, name: run.file});
    logs.set(run.file, log);
    return {run, log, ...coastOf(session, run, log)};
  });
  const heights = [...logs.values()].flatMap(log =>
    Array.from(usableChannel(log, "height")?.values ?? []).filter(Number.isFinite),
  );
  const heightM = heights.length ? heights.reduce((sum, value) => sum + value, 0) / heights.length : null;
  const air = airOf(session, heightM);
  const airs = session.runs.map(run => sessionAir(session.air, {heightM}, run.airTemperatureK));
  const rotating = rotatingMass({stated: session.rotatingMassFactor});
  const masses = {massKg: session.massKg, effectiveMassKg: session.massKg * rotating.factor};
  const problems = loaded.map(({run, problem}) =>
    run.exclude === null ? problem : `excluded: ${run.exclude}`,
  );
  const usable = () => loaded.flatMap(({coast}, i) => (coast && problems[i] === null ? [i] : []));
  const coasts = (rows: readonly number[]): CoastRun[] =>
    rows.map(i => ({...loaded[i].coast!, densityRatio: airs[i].densityKgM3 / air.densityKgM3}));
  const name = (rows: readonly number[], faults: readonly (string | null)[]) => {
    for (const [k, i] of rows.entries()) problems[i] ??= faults[k];
  };
  let rows = usable();
  name(rows, coastFaults(coasts(rows), null, masses));
  rows = usable();
  if (rows.length < 2) throw tooFew(session, problems);
  const options = {
    ...masses,
    terms: session.terms,
    level: session.level,
    forceAtMps: TOLD_MPS.filter(speed => speed >= session.band.toMps && speed <= session.band.fromMps),
    ...(session.headwindOutMps !== null && {headwindOutMps: session.headwindOutMps}),
  };
  const fit = fitCoastdown(coasts(rows), options);
  if (!fit) {
    const odd = rows.filter(
      i => rows.length > 2 && fitCoastdown(coasts(rows.filter(row => row !== i)), options),
    );
    throw new InputError(1, {
      code: "coastdown-not-fitted",
      file: session.file,
      words: `no road load fits these runs${odd.length ? `, but one does without run ${odd.map(i => i + 1).join(" or ")}` : ""}`,
      hint: "take out runs with brakes, a gear in or throttle",
    });
  }
  const faults = coastFaults(coasts(rows), fit.runs, masses);
  const told = (
    term: LoadTerm["name"],
    unit: string,
    {estimate, standardError, interval}: CoastEstimate,
  ): LoadTerm => ({
    name: term,
    unit,
    estimate,
    u: standardError,
    interval,
  });
  const weather = {temperatureK: air.temperatureK, airDensityKgM3: air.densityKgM3};
  const reference = atReference(fit.load, weather);
  const {dragAreaM2, rollingCoefficient} = toDragAndRolling(fit.load, {
    massKg: session.massKg,
    airDensityKgM3: air.densityKgM3,
  });
  const wind = fit.headwindOut;
  const document: Omit<CoastdownDocument, "state" | "words" | "silent" | "next"> = {
    format: "fairpull.judge/1",
    test: "coastdown",
    question: session.question,
    band: {from_mps: session.band.fromMps, to_mps: session.band.toMps, unit: session.band.unit},
    terms: [
      told("F0", "N", fit.f0N),
      ...(fit.f1NPerMps ? [told("F1", "N/(m/s)", fit.f1NPerMps)] : []),
      told("F2", "N/(m/s)^2", fit.f2NPerMps2),
    ],
    covariance: fit.covariance && Array.from(fit.covariance),
    correlation: Array.from(fit.correlation),
    df: fit.df,
    forces: fit.forces.map(({speedMps, forceN}) => ({speed_mps: speedMps, ...told("force", "N", forceN)})),
    mass: {mass_kg: session.massKg, effective_kg: masses.effectiveMassKg, source: rotating.source},
    air: {
      density_kg_m3: air.densityKgM3,
      density_u_kg_m3: air.densityUKgM3,
      temperature_k: air.temperatureK,
      assumed: air.assumed,
    },
    drag_area_m2: dragAreaM2,
    rolling_coefficient: rollingCoefficient,
    reference: {
      f0_n: reference.f0N,
      f1_n_per_mps: reference.f1NPerMps,
      f2_n_per_mps2: reference.f2NPerMps2,
      words: `20 °C and 1.189 kg/m³, with a rolling-temperature factor of ${ROLLING_PER_K} a kelvin`,
    },
    wind: wind && {headwind_out_mps: wind.estimate, u_mps: wind.standardError, stated: wind.stated},
    grade: fit.gradeOut && {out: fit.gradeOut.estimate, u: fit.gradeOut.standardError},
    runs: loaded.map(({run, coast}, i) => {
      const k = rows.indexOf(i);
      const own = k < 0 ? null : fit.runs[k];
      return {
        run: run.run,
        file: run.file,
        direction: run.direction,
        used: own !== null,
        f0_n: own?.load.f0N ?? null,
        f1_n_per_mps: own && fit.f1NPerMps ? own.load.f1NPerMps : null,
        f2_n_per_mps2: own?.load.f2NPerMps2 ?? null,
        residual_mps: own?.residualSdMps ?? null,
        residuals: own && coast && meanResiduals(own, coast.speedMps),
        problem: problems[i] ?? (k < 0 ? null : faults[k]),
      };
    }),
    excluded: session.runs.flatMap(({run, file, exclude}) =>
      exclude === null ? [] : [{run, file, reason: exclude}],
    ),
    checks: checksOf(session, rows, faults, wind),
    warnings: [...fit.warnings, ...rows.flatMap((i, k) => (faults[k] ? [`run ${i + 1}: ${faults[k]}`] : []))],
    seed: session.seed,
    versions: {fairpull: VERSION, node: process.versions.node},
    inputs: [
      {file: session.file, sha256: session.sha256},
      ...[...logs].map(([file, log]) => ({file, sha256: log.sha256})),
    ],
  };
  const {format, test, question, ...rest} = document;
  return {format, test, question, ...coastdownAnswer(document, fit.warnings), ...rest};
}

/** The samples of a run between the ends of its band, or why there are none. */
function coastOf(
  session: CoastdownSession,
  run: CoastdownSessionRun,
  log: Log,
): {coast: CoastRun | null; problem: string | null} {
  const [fromS, toS] = [run.fromS ?? Number.NEGATIVE_INFINITY, run.toS ?? Number.POSITIVE_INFINITY];
  const passes = passesOfLog(log, session.band).filter(
    ({startS, elapsedS}) => startS >= fromS && startS + elapsedS <= toS,
  );
  if (passes.length !== 1)
    return {
      coast: null,
      problem:
        passes.length === 0
          ? "its log never falls through the whole band within the span given"
          : `its span holds ${passes.length} falls through the band; give from and to`,
    };
  const [{startS, elapsedS}] = passes;
  const {values} = requireChannel(log, "speed");
  const rows = Array.from(log.timeS.keys()).filter(
    i => log.timeS[i] >= startS && log.timeS[i] <= startS + elapsedS && Number.isFinite(values[i]),
  );
  if (rows.length < 10)
    return {
      coast: null,
      problem: `its fall through the band has ${rows.length} samples, at least 10 are needed`,
    };
  return {
    coast: {
      timeS: Float64Array.from(rows, row => log.timeS[row]),
      speedMps: Float64Array.from(rows, row => values[row]),
      direction: run.direction,
    },
    problem: null,
  };
}

function airOf(session: CoastdownSession, heightM: number | null) {
  try {
    return sessionAir(session.air, {heightM});
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new InputError(2, {
      code: "session-value",
      file: session.file,
      words: error.message,
      hint: "mend air in the session",
    });
  }
}

function tooFew({file}: CoastdownSession, problems: readonly (string | null)[]): InputError {
  const words = problems
    .flatMap((problem, i) => (problem === null ? [] : [`run ${i + 1}: ${problem}`]))
    .join("; ");
  return new InputError(1, {
    code: "too-few-coastdowns",
    file,
    words: `fewer than 2 runs can be used; ${words}`,
    hint: "mend these runs or drive more",
  });
}

function checksOf(
  {warmUpS, runs}: CoastdownSession,
  rows: readonly number[],
  faults: readonly (string | null)[],
  wind: {estimate: number} | null,
): CheckRecord[] {
  const out = rows.filter(i => runs[i].direction !== "back").length;
  const back = rows.length - out;
  const odd = rows.filter((_, k) => faults[k] !== null).map(i => i + 1);
  const meanWindMps = wind === null ? null : Math.abs(wind.estimate);
  return [
    {
      name: "warm up",
      ...(warmUpS === null
        ? {
            outcome: "not-checkable",
            words: "how long the car was driven before is not written down; write warmUp: 20 min",
          }
        : {
            outcome: warmUpS >= WARM_UP_S ? "held" : "failed",
            words: `${(warmUpS / 60).toFixed(0)} minutes of driving before the first run`,
          }),
      rule: "tyres, bearings and gears are warm",
      threshold: `${WARM_UP_S / 60} min of driving`,
      source: "usual coastdown procedures",
    },
    {
      name: "both directions",
      outcome: out === back ? "held" : out > 0 && back > 0 ? "doubtful" : "failed",
      words: `${out} runs out and ${back} back`,
      rule: "as many runs out as back, so that slope and wind cancel",
      source: "SAE J1263, UN GTR 15",
    },
    {
      name: "nothing but rolling",
      outcome: odd.length === 0 ? "held" : "failed",
      words:
        odd.length === 0
          ? "no run shows a brake, a gear or throttle"
          : `${odd.length} of ${rows.length} runs look like more than rolling: ${odd.length === 1 ? "run" : "runs"} ${odd.join(", ")}; the table of runs says why`,
      rule: "gear out, no brake, no throttle through the whole band",
    },
    {
      name: "wind",
      ...(meanWindMps === null
        ? {outcome: "not-checkable", words: "the wind cannot be told from one direction"}
        : {
            outcome: meanWindMps <= MOST_WIND_MPS ? "held" : "doubtful",
            words: `${meanWindMps.toFixed(1)} m/s along the road; gusts and wind across are not measured here`,
          }),
      rule: "a quiet day",
      threshold: `mean ${MOST_WIND_MPS} m/s, peak 8 m/s, across 2 m/s`,
      source: "UN GTR 15",
    },
  ];
}
