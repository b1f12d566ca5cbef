import type {CoastRun} from "../../lib/roadload/coast-run.ts";
import type {RoadLoadCoefficients} from "../../lib/roadload/coefficients.ts";
import {driveCoast} from "../../lib/simulate/coast.ts";
import {correlatedNoise} from "../../lib/simulate/noise.ts";
import {createRandom} from "../../lib/stats/random.ts";

/** A day of coastdowns: six runs, every other one back, with a wind and a slope, run-to-run wind, gusts and a logger's noise. */
export interface CoastSet {
  load: RoadLoadCoefficients;
  massKg: number;
  effectiveMassKg: number;
  runs?: number;
  fromMps?: number;
  toMps?: number;
  rateHz?: number;
  /** mean along the way out, spread from run to run, gusts [m/s] */
  windMps?: number;
  windSdMps?: number;
  gustSdMps?: number;
  grade?: number;
  whiteSdMps?: number;
}

/** Runs of one day from a seed of their own. */
export function coastSet(set: CoastSet, seed: number): CoastRun[] {
  const random = createRandom(seed, "coastdown set");
  const {runs = 6, fromMps = 115 / 3.6, toMps = 25 / 3.6, rateHz = 5} = set;
  const {windMps = 1.5, windSdMps = 0.6, gustSdMps = 0.8, grade = 0.002, whiteSdMps = 0.03} = set;
  return Array.from({length: runs}, (_, i) => {
    const sign = i % 2 === 0 ? 1 : -1;
    const drive = driveCoast(
      {
        ...set,
        fromMps: fromMps + (whiteSdMps > 0 ? 0.3 * random.normal() : 0),
        toMps,
        rateHz,
        gradeAt: () => sign * grade,
        headwindMps: sign * windMps + windSdMps * random.normal(),
        gustSdMps,
        gustCorrelationS: 4,
      },
      random,
    );
    const slow = correlatedNoise(random, whiteSdMps > 0 ? 0.02 : 0, 1.5, 1 / rateHz);
    const white = () => (whiteSdMps > 0 ? whiteSdMps * random.normal() : 0);
    return {
      timeS: drive.timeS,
      speedMps: drive.speedMps.map(speed => speed + slow() + white()),
      direction: sign === 1 ? "out" : "back",
    };
  });
}
