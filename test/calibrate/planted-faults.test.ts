import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {FAULTS} from "../../lib/simulate/faults.ts";
import {checkedDay, doubts, isNamed} from "../judge/varied-days.ts";
import {percent} from "./days.ts";

const DAYS = 300;
const CLEAN_DAYS = 600;
const FIRST_FAULTY_SEED = 10_000;
const FIRST_CLEAN_SEED = 20_000;
/** Set to print each day that was missed, and each doubt on a clean day. */
const SHOW = process.env["FAIRPULL_SHOW"] !== undefined;

describe("planted faults", () => {
  it.each(FAULTS)(`%s is named on at least 90 % of ${DAYS} days that differ in everything`, fault => {
    let named = 0;
    for (let seed = FIRST_FAULTY_SEED; seed < FIRST_FAULTY_SEED + DAYS; seed++) {
      const {checks, runs, words} = checkedDay(seed, fault);
      if (isNamed(fault, checks, runs)) named++;
      else if (SHOW) console.log(`missed ${fault} in run ${runs}: ${words}`);
    }
    console.log(`${fault}: named on ${percent(named / DAYS, DAYS)} of ${DAYS} days`);
    assert.ok(named >= 0.9 * DAYS, `named on ${named} of ${DAYS} days`);
  });

  it(`clean days: not a fair test on at most 2 %, a doubtful check on at most 20 % of ${CLEAN_DAYS}`, () => {
    let [unfair, doubted] = [0, 0];
    const which = new Map<string, number>();
    for (let seed = FIRST_CLEAN_SEED; seed < FIRST_CLEAN_SEED + CLEAN_DAYS; seed++) {
      const {state, checks, words} = checkedDay(seed, null);
      const found = doubts(checks);
      if (state === "not-a-fair-test") unfair++;
      if (found.length > 0) doubted++;
      for (const check of found) {
        which.set(check.name, (which.get(check.name) ?? 0) + 1);
        if (SHOW) console.log(`${words}: ${check.outcome} ${check.name}: ${check.words}`);
      }
    }
    console.log(
      `clean days: not a fair test ${percent(unfair / CLEAN_DAYS, CLEAN_DAYS)}, any doubt ${percent(doubted / CLEAN_DAYS, CLEAN_DAYS)}; ` +
        [...which].map(([name, count]) => `${name} ${count}`).join(", "),
    );
    assert.ok(unfair <= 0.02 * CLEAN_DAYS, `not a fair test on ${unfair} days`);
    assert.ok(doubted <= 0.2 * CLEAN_DAYS, `a doubtful check on ${doubted} days`);
  });
});
