import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {FAULTS} from "../../lib/simulate/faults.ts";
import {checkedDay, doubts, isNamed} from "./varied-days.ts";

/** The short form of test/calibrate/planted-faults.test.ts: fewer days, bounds of three binomial standard errors beyond the promise. */
const DAYS = 20;
const FIRST_SEED = 30_000;
const atLeast = (share: number) => DAYS * share - 3 * Math.sqrt(DAYS * share * (1 - share));

describe("planted faults, 20 days each", () => {
  it.each(FAULTS)("%s is named", fault => {
    const days = Array.from({length: DAYS}, (_, i) => ({day: checkedDay(FIRST_SEED + i, fault), fault}));
    const missed = days.filter(({day}) => !isNamed(fault, day.checks, day.runs));
    assert.ok(
      DAYS - missed.length >= atLeast(0.9),
      missed.map(({day}) => `${day.words}, run ${day.runs}`).join("\n"),
    );
  });

  it("clean days are fair tests, and few have a doubt", () => {
    const days = Array.from({length: DAYS}, (_, i) => checkedDay(FIRST_SEED + i, null));
    const unfair = days.filter(day => day.state === "not-a-fair-test");
    const doubted = days.filter(day => doubts(day.checks).length > 0);
    const words = doubted
      .map(day => `${day.words}: ${doubts(day.checks).map(check => check.words)}`)
      .join("\n");
    assert.ok(DAYS - unfair.length >= atLeast(0.98), words);
    assert.ok(DAYS - doubted.length >= atLeast(0.8), words);
  });
});
