import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {differenceOfParts} from "../../lib/meter/difference.ts";
import type {MeterRange, Readings} from "../../lib/meter/reading.ts";
import {halfWidth, twoWireResistance} from "../../lib/meter/resistance.ts";
import {propagateDistributions} from "../../lib/stats/monte-carlo.ts";
import {createRandom, type Random} from "../../lib/stats/random.ts";
import {mean, standardDeviation} from "../../lib/stats/summary.ts";

/** An inexpensive meter: leads of 0.6 to 0.7 ohm (common practice), one digit 0.1 ohm. */
const RANGE: MeterRange = {name: "200 ohm", gainFraction: 0.008, digits: 3, resolutionOhm: 0.1};

interface Drawn {
  truthOhm: number;
  part: Readings;
  leadsBefore: Readings;
  leadsAfter: Readings;
}

/** One bench: gain and offset drawn once within the stated limits, contacts at every reading, display rounded. */
function drawBench(random: Random, contactSd: number): {a: Drawn; b: Drawn} {
  const gain = 1 + RANGE.gainFraction * (2 * random.uniform() - 1);
  const offset = RANGE.digits * RANGE.resolutionOhm * (2 * random.uniform() - 1);
  const start = 0.6 + 0.1 * random.uniform();
  const end = start + 0.02 * random.normal();
  const read = (name: string, ohm: number, n: number): Readings => ({
    name,
    range: RANGE,
    ohm: Array.from({length: n}, () => {
      const shown = (ohm + contactSd * random.normal()) * gain + offset;
      return Math.max(0, Math.round(shown / RANGE.resolutionOhm) * RANGE.resolutionOhm);
    }),
  });
  const truths = [0.2 + 0.5 * random.uniform(), 0.2 + 0.5 * random.uniform()]; // two to seven display steps
  const leadsBefore = read("leads before", start, 3);
  const middle = (start + end) / 2;
  const a = read("part A", truths[0] + middle, 5);
  const b = read("part B", truths[1] + middle, 5);
  const leadsAfter = read("leads after", end, 3);
  const leads = {leadsBefore, leadsAfter};
  return {a: {truthOhm: truths[0], part: a, ...leads}, b: {truthOhm: truths[1], part: b, ...leads}};
}

/** Half-width of JCGM 101:2008 for the same bench: contacts Student's, display and drift rectangular, gain common. */
function drawnHalfWidth({part, leadsBefore, leadsAfter}: Drawn, random: Random): number {
  const set = ({ohm}: Readings) => ({
    m: mean(ohm),
    s: standardDeviation(ohm)! / Math.sqrt(ohm.length),
    df: ohm.length - 1,
  });
  const [p, before, after] = [part, leadsBefore, leadsAfter].map(set);
  const studentT = (df: number) => {
    let squares = 0;
    for (let i = 0; i < df; i++) squares += random.normal() ** 2;
    return random.normal() / Math.sqrt(squares / df);
  };
  const step = () => RANGE.resolutionOhm * (random.uniform() - 0.5);
  const {interval} = propagateDistributions(
    () => {
      const first = before.m + before.s * studentT(before.df);
      const last = after.m + after.s * studentT(after.df);
      const leads = first + (last - first) * random.uniform() + step();
      const gain = 1 + RANGE.gainFraction * (2 * random.uniform() - 1);
      return (p.m + p.s * studentT(p.df) + step() - leads) / gain;
    },
    {random, nTrials: 4_000},
  );
  return (interval.high - interval.low) / 2;
}

describe("readings near the meter's resolution", () => {
  for (const contactSd of [0, 0.03, 0.1]) {
    it(`cover each part and their difference, contacts spread by ${contactSd} ohm`, () => {
      const random = createRandom(20261, `benches ${contactSd}`);
      const benches = 5_000;
      const hits = {a: 0, b: 0, difference: 0};
      const ratios: number[] = [];
      for (let i = 0; i < benches; i++) {
        const {a, b} = drawBench(random, contactSd);
        const [ra, rb] = [twoWireResistance(a), twoWireResistance(b)];
        const inside = (interval: {low: number; high: number} | null, truth: number) =>
          interval !== null && interval.low <= truth && truth <= interval.high;
        if (inside(ra.interval, a.truthOhm)) hits.a++;
        if (inside(rb.interval, b.truthOhm)) hits.b++;
        if (inside(differenceOfParts(ra, rb).interval, b.truthOhm - a.truthOhm)) hits.difference++;
        if (i % 100 === 0) ratios.push(halfWidth(ra) / drawnHalfWidth(a, random));
      }
      ratios.sort((x, y) => x - y);
      const words = JSON.stringify({...hits, ratio: ratios[ratios.length >> 1]});
      // at least 94 % less three binomial standard errors of 5,000 benches (0.34 % each)
      for (const count of Object.values(hits)) assert.ok(count >= (0.94 - 0.01) * benches, words);
      assert.ok(ratios[ratios.length >> 1] <= 1.25, words);
    });
  }
});
