import type {ArmName, Band} from "../../result/session.ts";
import {printQuantity} from "../../units/quantity.ts";
import {ARMS} from "./check.ts";
import type {RunView} from "./run-view.ts";

/** "run 3", "runs 3 and 5", "runs 3, 5 and 8". */
export function runsWords(views: readonly RunView[]): string {
  const numbers = views.map(view => String(view.run));
  if (numbers.length === 1) return `run ${numbers[0]}`;
  return `runs ${numbers.slice(0, -1).join(", ")} and ${numbers.at(-1)}`;
}

/** As `runsWords`, "any run" where these are all. */
export function anyWords(some: readonly RunView[], all: readonly RunView[]): string {
  return some.length === all.length ? "any run" : runsWords(some);
}

/** A speed in the unit of the band, to a tenth or so: "83.4 km/h". */
export function speedWords(speedMps: number, {unit}: Band): string {
  return printQuantity(speedMps, unit, {digits: 3});
}

/** With a sign and a true minus: "+1.2", "−0.4". */
export function signed(value: number, digits: number): string {
  const text = Math.abs(value).toFixed(digits);
  return `${value < 0 && Number(text) !== 0 ? "−" : "+"}${text}`;
}

/** The arms of which more than half of the runs are among these. */
export function mostOfArm(some: readonly RunView[], all: readonly RunView[]): ArmName[] {
  const count = (views: readonly RunView[], arm: ArmName) => views.filter(view => view.arm === arm).length;
  return ARMS.filter(arm => count(some, arm) > count(all, arm) / 2);
}

export function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

/** A share in per cent, without the rounding of binary fractions: "3.5 %". */
export function percentOf(share: number): string {
  return `${Number((100 * share).toPrecision(4))} %`;
}
