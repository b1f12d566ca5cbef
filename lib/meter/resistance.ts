import {mean} from "../stats/summary.ts";
import {type BudgetLine, rectangular, type Uncertain, withBudget} from "./budget.ts";
import {accuracyLines, contactLine, type Readings, requireReadings, roundingLine} from "./reading.ts";

/** Readings of a part with a two-wire meter. */
export interface TwoWireBench {
  part: Readings;
  /** leads touched together, before and after the part */
  leadsBefore: Readings;
  leadsAfter: Readings;
  level?: number;
}

/** A resistance [ohm] with its budget. */
export interface Resistance extends Uncertain {
  /** expanded uncertainty of a part of 0 ohm at this bench: below it a resistance cannot be told from zero [ohm] */
  zeroOhm: number;
  /** what is wrong or weak about the readings, in words; empty where nothing is */
  doubts: string[];
}

/** Fewer readings have no spread that could be seen. */
const LEAST_READINGS = 2;

/**
 * Resistance of a part from two-wire readings: mean of the part less mean of the leads touched together before and after.
 *
 * The gain of a range is common to all its readings, so that it works on the difference only, and its offset cancels
 * where part and leads were read in one range. Drift of the leads counts as a rectangle between before and after.
 *
 * @throws {RangeError} readings or ranges that make no sense, fewer than 2 readings of the part
 */
export function twoWireResistance({part, leadsBefore, leadsAfter, level}: TwoWireBench): Resistance {
  for (const readings of [part, leadsBefore, leadsAfter]) requireReadings("twoWireResistance", readings);
  if (part.ohm.length < LEAST_READINGS) {
    throw new RangeError(
      `twoWireResistance: "${part.name}" has one reading; take at least ${LEAST_READINGS}, contacts made anew, so that their spread is seen`,
    );
  }
  const [before, after] = [mean(leadsBefore.ohm), mean(leadsAfter.ohm)];
  const leads = (before + after) / 2;
  const value = mean(part.ohm) - leads;
  const fixed: BudgetLine[] = [
    ...contactLine(part, 1),
    ...contactLine(leadsBefore, -0.5),
    ...contactLine(leadsAfter, -0.5),
    roundingLine(part, 1),
    // one display step: before and after are often rounded the same way, so they are not taken as independent
    {...roundingLine(leadsBefore, -1), source: `rounding: ${leadsBefore.name} and ${leadsAfter.name}`},
    {
      source: `drift: ${leadsBefore.name} to ${leadsAfter.name}`,
      words: `leads ${ohms(before)} before, ${ohms(after)} after`,
      contribution: -rectangular(Math.abs(after - before) / 2),
      df: Number.POSITIVE_INFINITY,
    },
  ];
  const accuracy = (partOhm: number) => [
    ...accuracyLines(part.range, partOhm + leads, 1),
    ...accuracyLines(leadsBefore.range, -before / 2, -0.5),
    ...accuracyLines(leadsAfter.range, -after / 2, -0.5),
  ];
  const result = withBudget(value, [...fixed, ...accuracy(value)], {level});
  const zeroOhm = halfWidth(withBudget(0, [...fixed, ...accuracy(0)], {level}));
  return {...result, zeroOhm, doubts: doubtsOf(value, {result, zeroOhm, part, before, after})};
}

/** Half the width of an interval, 0 where there is none. */
export function halfWidth({interval}: Uncertain): number {
  return interval ? (interval.high - interval.low) / 2 : 0;
}

function doubtsOf(
  value: number,
  bench: {result: Uncertain; zeroOhm: number; part: Readings; before: number; after: number},
): string[] {
  const {result, zeroOhm, part, before, after} = bench;
  const doubts: string[] = [];
  const drift = Math.abs(after - before);
  if (value < 0 && -value > halfWidth(result)) {
    doubts.push(
      `the part reads ${ohms(-value)} less than the leads alone, more than the uncertainty of ${ohms(halfWidth(result))}: ` +
        "a contact was worse when the leads were touched together; clean them and read again",
    );
  } else if (Math.abs(value) <= zeroOhm) {
    doubts.push(
      `this bench cannot tell less than ${ohms(zeroOhm)} from zero, and the part reads ${ohms(value)}`,
    );
  }
  if (drift > Math.abs(value)) {
    doubts.push(`the leads drifted by ${ohms(drift)} between before and after, more than the part itself`);
  }
  if (Math.abs(value) < part.range.resolutionOhm) {
    doubts.push(`the part is below one step of the display (${ohms(part.range.resolutionOhm)})`);
  }
  return doubts;
}

function ohms(value: number): string {
  return `${Number(value.toPrecision(3))} ohm`.replace("-", "−");
}
