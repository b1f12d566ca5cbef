import {standardDeviation} from "../stats/summary.ts";
import {type BudgetLine, rectangular} from "./budget.ts";

/** One range of a meter, as its maker states it: ± (gainFraction of the reading + digits of the last place). */
export interface MeterRange {
  /** which meter and range; readings under one name share their gain and their offset */
  name: string;
  /** 0.008 for "0.8 % of reading" */
  gainFraction: number;
  /** 3 for "+ 3 digits" */
  digits: number;
  /** one digit of the display [ohm] */
  resolutionOhm: number;
}

/** Readings of one thing, its contacts made anew before each. */
export interface Readings {
  /** what was read, unique within a bench: "part A", "leads before" */
  name: string;
  /** as displayed [ohm], length ≥ 1, none negative */
  ohm: readonly number[];
  range: MeterRange;
}

/** @throws {RangeError} no readings, one negative or not finite, a range whose limits make no sense */
export function requireReadings(caller: string, {name, ohm, range}: Readings): void {
  const {gainFraction, digits, resolutionOhm} = range;
  if (!(gainFraction >= 0 && gainFraction < 1) || !(digits >= 0 && digits < 1e6) || !(resolutionOhm > 0)) {
    throw new RangeError(
      `${caller}: range "${range.name}" must have a gain of 0 to 1 (0.8 % is 0.008), digits ≥ 0 and a resolution above 0 ohm, ` +
        `found ${gainFraction}, ${digits} and ${resolutionOhm} ohm`,
    );
  }
  if (ohm.length === 0) throw new RangeError(`${caller}: "${name}" has no reading`);
  ohm.forEach((value, i) => {
    if (!(value >= 0 && value < Number.POSITIVE_INFINITY)) {
      throw new RangeError(
        `${caller}: reading ${i + 1} of "${name}" must be a number ≥ 0 ohm, found ${value}`,
      );
    }
  });
}

/** Contacts differ from one reading to the next: spread of the mean, or nothing where there is one reading. */
export function contactLine({name, ohm}: Readings, sensitivity: number): BudgetLine[] {
  const sd = standardDeviation(ohm);
  if (sd === null) return [];
  return [
    {
      source: `contacts: ${name}`,
      words: `spread of ${ohm.length} readings`,
      contribution: (sensitivity * sd) / Math.sqrt(ohm.length),
      df: ohm.length - 1,
    },
  ];
}

/**
 * What the display rounds away. It is not divided by √n: readings that agree to the last digit are all rounded the
 * same way, so that identical repeats never look exact.
 */
export function roundingLine({name, range}: Readings, sensitivity: number): BudgetLine {
  return {
    source: `rounding: ${name}`,
    words: `display steps of ${range.resolutionOhm} ohm`,
    contribution: sensitivity * rectangular(range.resolutionOhm / 2),
    df: Number.POSITIVE_INFINITY,
  };
}

/** Gain and offset within the limits of the maker; `gainOhm` is what the gain multiplies, `offsets` how often the offset counts. */
export function accuracyLines(range: MeterRange, gainOhm: number, offsets: number): BudgetLine[] {
  const {name, gainFraction, digits, resolutionOhm} = range;
  const df = Number.POSITIVE_INFINITY;
  return [
    {
      source: `gain: ${name}`,
      words: `± ${tidy(100 * gainFraction)} % of the reading`,
      contribution: gainOhm * rectangular(gainFraction),
      df,
    },
    {
      source: `offset: ${name}`,
      words: `± ${tidy(digits)} digits of ${resolutionOhm} ohm`,
      contribution: offsets * rectangular(digits * resolutionOhm),
      df,
    },
  ];
}

function tidy(value: number): string {
  return String(Number(value.toPrecision(6)));
}
