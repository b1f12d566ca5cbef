import type {PowerBudget} from "../result/power-curves.ts";
import {bandPowerW} from "../roadload/band-power.ts";
import type {RunConditions} from "../roadload/corrected-time.ts";
import {armWeights} from "../roadload/correction-budget.ts";
import type {TestDay} from "../run/day.ts";
import {correctionOf} from "./correction.ts";

/**
 * What makes the mean wheel power through the band uncertain: every input that the runs share, moved by its standard uncertainty
 * (JCGM 100:2008, 5.1), and what that does to the level of the baseline and to the difference between the arms. The scatter of the runs is in neither.
 *
 * Mass, drag area and rolling coefficient move the power of both arms by nearly the same amount: the level is known to some per cent,
 * the difference to that share of itself.
 *
 * @returns null where an arm has no usable run, or no direction has runs of both arms
 * @throws {InputError} as `correctionOf`
 */
export function powerBudget(day: TestDay): PowerBudget | null {
  const correction = correctionOf(day);
  const {inputs, wind, profile, track} = correction;
  const arms = day.runs.map(({run}, i) =>
    run.exclude === null && correction.runs[i] !== null ? run.arm : null,
  );
  const difference = weightsOf(
    arms,
    day.runs.map(({run}) => run.direction),
  );
  const baseline = arms.filter(arm => arm === "baseline").length;
  if (difference === null || baseline === 0) return null;
  const level = arms.map(arm => (arm === "baseline" ? 1 / baseline : 0));
  const powers = (change: (conditions: RunConditions, i: number) => Partial<RunConditions>, scale = 1) =>
    correction.runs.map((run, i) =>
      run && arms[i] !== null
        ? bandPowerW(
            {...run.pull, speedMps: run.pull.speedMps.map(speed => scale * speed)},
            {...run.conditions, ...change(run.conditions, i)},
            {fromMps: scale * inputs.fromMps, toMps: scale * inputs.toMps, elapsedS: run.rawS},
          ).powerW
        : 0,
    );
  const sum = (weights: readonly number[], values: readonly number[]) =>
    weights.reduce((total, weight, i) => total + weight * values[i], 0);
  const before = powers(() => ({}));
  const row = (input: string, value: string, change: Parameters<typeof powers>[0]) => {
    const moved = powers(change).map((power, i) => power - before[i]);
    return {
      input,
      value,
      levelUW: Math.abs(sum(level, moved)),
      differenceUW: Math.abs(sum(difference, moved)),
    };
  };
  const words = ({value, u}: {value: number; u: number}, unit: string) =>
    `${Number(value.toPrecision(4))} ± ${Number(u.toPrecision(2))}${unit}`;
  const {mass, rotatingFactor, dragArea, rollingCoefficient, airDensity} = inputs;
  const out = (i: number) => {
    const {direction} = day.runs[i].run;
    return direction === null ? track.places[i].sign : direction === "out" ? 1 : -1;
  };
  const rows = [
    row("mass", words(mass, " kg"), ({massKg}) => ({massKg: massKg * (1 + mass.u / mass.value)})),
    row("rotating parts", words(rotatingFactor, " × mass"), () => ({
      rotatingFactor: rotatingFactor.value + rotatingFactor.u,
    })),
    row("drag area", words(dragArea, " m²"), () => ({dragAreaM2: dragArea.value + dragArea.u})),
    row("rolling coefficient", words(rollingCoefficient, ""), () => ({
      rollingCoefficient: rollingCoefficient.value + rollingCoefficient.u,
    })),
    row("air density", words(airDensity, " kg/m³"), ({airDensityKgM3}) => ({
      airDensityKgM3: airDensityKgM3 * (1 + airDensity.u / airDensity.value),
    })),
    row("wind", `${words(wind, " m/s")}, ${wind.basis}`.replace(/^-/, "−"), ({headwindMps}, i) => ({
      headwindMps: headwindMps + out(i) * wind.u,
    })),
  ];
  if (profile && profile.runs > 1) {
    const shares = Array.from({length: profile.runs}, (_, u) =>
      powers((_conditions, i) => ({
        gradeAt: place => track.places[i].sign * profile.gradeWith(u, place),
      })).map((power, i) => power - before[i]),
    );
    const spread = (weights: readonly number[]) =>
      Math.sqrt(
        (shares.reduce((total, share) => total + sum(weights, share) ** 2, 0) * profile.runs) /
          (profile.runs - 1),
      );
    rows.push({
      input: "road profile",
      value: `${profile.runs} runs, residual ${profile.residualSdM.toFixed(2)} m`,
      levelUW: spread(level),
      differenceUW: spread(difference),
    });
  }
  const differenceW = sum(difference, before);
  const changed = arms.filter(arm => arm === "changed").length;
  const sensitive = (input: string, step: number, unit: string, moved: number[]) => {
    const effectW =
      moved.reduce((all, power, i) => all + (arms[i] === "changed" ? power - before[i] : 0), 0) / changed;
    return {
      input,
      step,
      unit,
      effectW,
      toErase: effectW === 0 ? null : Math.abs((step * differenceW) / effectW),
    };
  };
  const total = (key: "levelUW" | "differenceUW") => Math.hypot(...rows.map(entry => entry[key]));
  return {
    meanW: sum(level, before),
    rows,
    levelUW: total("levelUW"),
    differenceUW: total("differenceUW"),
    differenceW,
    sensitivity: [
      sensitive(
        "grade",
        0.001,
        "1",
        powers(({gradeAt}) => ({gradeAt: place => gradeAt(place) + 0.001})),
      ),
      sensitive(
        "wind",
        1,
        "m/s",
        powers(({headwindMps}) => ({headwindMps: headwindMps + 1})),
      ),
      sensitive(
        "mass",
        10,
        "kg",
        powers(({massKg}) => ({massKg: massKg + 10})),
      ),
      sensitive(
        "tyre radius, where speed is that of the wheels",
        1,
        "%",
        powers(() => ({}), 1.01),
      ),
    ],
  };
}

/** Weights of the difference, within directions where both arms drove both; null where they cannot be compared. */
function weightsOf(...[arms, directions]: Required<Parameters<typeof armWeights>>): number[] | null {
  for (const given of [directions, arms.map(() => null)]) {
    try {
      return armWeights(arms, given);
    } catch (error) {
      if (!(error instanceof RangeError)) throw error;
    }
  }
  return null;
}
