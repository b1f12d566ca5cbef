import type {Band} from "../result/session.ts";
import {normalQuantile} from "../stats/distributions.ts";
import {DEFAULT_LEVEL, type Interval} from "../stats/interval.ts";
import {type BandCar, type BandChange, bandTimeChanges} from "./sensitivity.ts";

/** A number with its standard uncertainty; 0 or absent = taken as exact. */
export interface ClaimedNumber {
  value: number;
  standardUncertainty?: number;
}

/** What a part is said to change, before any run. What is left out stays as it is. */
export interface Claim {
  /** relative change of wheel power over the whole band: 0.03 = 3 % more */
  powerShare?: ClaimedNumber;
  /** change of mass [kg] */
  massKg?: ClaimedNumber;
  /** relative change of the drag area */
  dragAreaShare?: ClaimedNumber;
  /** relative change of the rolling coefficient */
  rollingShare?: ClaimedNumber;
}

/** How well the car is known [standard uncertainties]; what is left out is taken as exact. */
export interface CarUncertainty {
  massKg?: number;
  dragAreaM2?: number;
  rollingCoefficient?: number;
  airDensityKgM3?: number;
}

/** What a claim would be worth on the road. */
export interface ClaimOnTheRoad {
  /** change of band time by integration [s], negative = faster */
  changeS: number;
  /** share of the band time as it is */
  share: number;
  /** the same by the slopes at the car as it is, one product a claim [s]: good to a few per cent of itself for small claims */
  bySensitivityS: number;
  standardUncertaintyS: number;
  interval: Interval;
  /** standard uncertainty [s] by where it comes from, largest first; their squares add up */
  budget: {source: string; contributionS: number}[];
}

/**
 * Constant wheel power stands for the power that a car really has over a band; at equal band time that moves a change by some 10 %
 * of itself, taken as a limit with every value inside it alike (JCGM 100:2008, 4.3.7).
 */
const SHAPE_SHARE = 0.1 / Math.sqrt(3);
/** Share of a claim over which its slope is taken: outside rounding of the integration, inside its curvature. */
const SLOPE_SHARE = 1e-3;

const CLAIMS = {
  powerShare: "claimed power",
  massKg: "claimed mass",
  dragAreaShare: "claimed drag area",
  rollingShare: "claimed rolling coefficient",
} as const;
const CAR = {
  massKg: "mass of the car",
  dragAreaM2: "drag area of the car",
  rollingCoefficient: "rolling coefficient of the car",
  airDensityKgM3: "air density",
} as const;

/**
 * Turns what a maker says of a part into seconds through a band, so that it can be held against what a day can show.
 *
 * By integration at constant wheel power, the power that makes the time observed; see `bandTimeChanges`. The interval is the law of
 * propagation (JCGM 100:2008, eq. 10) with central differences over each standard uncertainty, normal. It says what the claim would be
 * worth if it were true, and nothing on whether it is.
 *
 * @param claim   changes with their uncertainties; two at once are integrated together
 * @param options band: a rising one [m/s]; elapsedS: time through it as the car is [s], with the standard uncertainty of a typical one
 * @returns null where no constant power makes that time, or the changed car would not get through
 * @throws {RangeError} no claim, a number that is not finite, an uncertainty below 0, a share of −1 or less
 */
export function claimOnTheRoad(
  claim: Claim,
  {
    car,
    carUncertainty = {},
    band,
    elapsedS,
    level = DEFAULT_LEVEL,
  }: {
    car: BandCar;
    carUncertainty?: CarUncertainty;
    band: Pick<Band, "fromMps" | "toMps">;
    elapsedS: ClaimedNumber;
    level?: number;
  },
): ClaimOnTheRoad | null {
  const claims = (Object.keys(CLAIMS) as (keyof typeof CLAIMS)[]).filter(key => claim[key] !== undefined);
  if (claims.length === 0) throw new RangeError("claimOnTheRoad: the claim changes nothing");
  for (const key of claims) requireClaim(key, claim[key]!);
  requireNumber("elapsedS", elapsedS);

  const values = Object.fromEntries(claims.map(key => [key, claim[key]!.value])) as Values;
  const at = (moved: Partial<Values> = {}, carMoved: Partial<BandCar> = {}, timeS = elapsedS.value) =>
    bandTimeChanges({...car, ...carMoved}, band, timeS)?.(asChange({...values, ...moved})) ?? null;
  const changeS = at();
  if (changeS === null) return null;

  const slope = (key: keyof typeof CLAIMS): number | null => {
    const step = SLOPE_SHARE * Math.max(Math.abs(values[key]), key === "massKg" ? 1 : 0.01);
    const alone = (value: number) => bandTimeChanges(car, band, elapsedS.value)!(asChange({[key]: value}));
    return halfDifference(alone(step), alone(-step), step);
  };
  let bySensitivityS = 0;
  for (const key of claims) {
    const each = slope(key);
    if (each === null) return null;
    bySensitivityS += each * values[key];
  }

  const lines: {source: string; contributionS: number | null}[] = [
    ...claims.map(key => ({
      source: CLAIMS[key],
      contributionS: spread(claim[key]!.standardUncertainty, u => at({[key]: values[key] + u})),
    })),
    ...(Object.keys(CAR) as (keyof typeof CAR)[]).map(key => ({
      source: CAR[key],
      contributionS: spread(carUncertainty[key], u => at({}, {[key]: car[key] + u})),
    })),
    {
      source: "band time",
      contributionS: spread(elapsedS.standardUncertainty, u => at({}, {}, elapsedS.value + u)),
    },
    {source: "power over the band", contributionS: SHAPE_SHARE * Math.abs(changeS)},
  ];
  if (lines.some(({contributionS}) => contributionS === null)) return null;
  const budget = (lines as ClaimOnTheRoad["budget"])
    .filter(({contributionS}) => contributionS > 0)
    .sort((a, b) => b.contributionS - a.contributionS);
  const standardUncertaintyS = Math.hypot(...budget.map(({contributionS}) => contributionS));
  const half = normalQuantile((1 + level) / 2) * standardUncertaintyS;
  return {
    changeS,
    share: changeS / elapsedS.value,
    bySensitivityS,
    standardUncertaintyS,
    interval: {low: changeS - half, high: changeS + half, level, method: "law of propagation, normal"},
    budget,
  };
}

type Values = Record<keyof typeof CLAIMS, number>;

function asChange({powerShare, massKg, dragAreaShare, rollingShare}: Partial<Values>): BandChange {
  return {
    ...(powerShare !== undefined && {powerShare}),
    ...(massKg !== undefined && {massKg}),
    ...(dragAreaShare !== undefined && {airDensityShare: dragAreaShare}), // drag goes with ρ CdA
    ...(rollingShare !== undefined && {rollingShare}),
  };
}

/** Half of what moving by ±u changes; 0 without uncertainty; null where the car would not get through. */
function spread(u: number | undefined, moved: (by: number) => number | null): number | null {
  if (u === undefined || u === 0) return 0;
  if (!(u > 0 && Number.isFinite(u)))
    throw new RangeError(`claimOnTheRoad: a standard uncertainty is ${u}; it must be 0 or more`);
  const half = halfDifference(moved(u), moved(-u), 1);
  return half && Math.abs(half);
}

function halfDifference(above: number | null, below: number | null, step: number): number | null {
  return above === null || below === null ? null : (above - below) / 2 / step;
}

function requireNumber(name: string, {value, standardUncertainty = 0}: ClaimedNumber): void {
  if (!Number.isFinite(value)) throw new RangeError(`claimOnTheRoad: ${name} is ${value}`);
  if (!(standardUncertainty >= 0 && standardUncertainty < Number.POSITIVE_INFINITY))
    throw new RangeError(`claimOnTheRoad: the standard uncertainty of ${name} is ${standardUncertainty}`);
}

function requireClaim(name: keyof Claim, claimed: ClaimedNumber): void {
  requireNumber(name, claimed);
  if (name !== "massKg" && claimed.value <= -1)
    throw new RangeError(`claimOnTheRoad: ${name} is ${claimed.value}; −1 would leave nothing of it`);
}
