import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {matchedCondition} from "../../lib/channels/conditions.ts";
import {type SpeedCourse, speedCourse} from "../../lib/channels/pair-runs.ts";
import {refinePair} from "../../lib/channels/refine-pair.ts";
import {readLogBytes} from "../../lib/log/read.ts";
import {alignSeries} from "../../lib/series/align.ts";
import {simulateDay} from "../../lib/simulate/day.ts";
import {dayFiles} from "../../lib/simulate/files.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {quantile} from "../../lib/stats/quantile.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {drawDeal} from "../../lib/trial/plan.ts";
import {curveDay, FROM, MOVED, surveyDay, TO} from "../channels/made-days.ts";
import {toPlan, toRuns} from "../trial/made-runs.ts";

/** Prints a share with its binomial standard error, so that it can be copied where it is told. */
function tell(what: string, hits: number, of: number): number {
  const share = hits / of;
  console.log(
    `${what}: ${(100 * share).toFixed(1)} ± ${(100 * Math.sqrt((share * (1 - share)) / of)).toFixed(1)} %`,
  );
  return share;
}

describe("a survey of 20 channels, 6 + 6 runs in complete order", () => {
  it("calls any of them different on at most 6 % of 2,000 days without a difference", () => {
    const random = createRandom(21, "null surveys");
    let alarms = 0;
    for (let i = 0; i < 2000; i++) if (surveyDay(random, 0).channels.some(({differs}) => differs)) alarms++;
    assert.ok(tell("null days with a channel called different", alarms, 2000) <= 0.06);
  });
  it("calls one that moved by 3 spreads on at least 75 % of 1,000 days", () => {
    const random = createRandom(22, "moved surveys");
    let found = 0;
    for (let i = 0; i < 1000; i++)
      if (surveyDay(random, 3).channels.find(({name}) => name === MOVED)!.differs) found++;
    assert.ok(tell("days on which the moved channel is called", found, 1000) >= 0.75);
  });
});

describe("the band over a difference of curves", () => {
  for (const {perArm, days} of [
    {perArm: 6, days: 2000}, // 924 re-deals
    {perArm: 4, days: 2000}, // 70 re-deals: normal draws
  ]) {
    it(`covers the whole true curve on 93 to 97 % of ${days} days of ${perArm} + ${perArm}`, () => {
      const random = createRandom(23, `bands ${perArm}`);
      let covered = 0;
      for (let i = 0; i < days; i++) {
        const {band, truth} = curveDay(random, {perArm, planted: 1.2});
        const {estimate, standardError, factor} = band!;
        if (truth.every((value, k) => Math.abs(estimate[k] - value) <= factor * standardError[k])) covered++;
      }
      const share = tell(`band of ${perArm} + ${perArm} holds the whole curve`, covered, days);
      assert.ok(share >= 0.93 && share <= 0.97);
    });
  }
  for (const {perArm, planted, days} of [
    {perArm: 6, planted: 1.2, days: 2000},
    {perArm: 10, planted: 0.8, days: 200}, // all 184,756 re-deals each, a second a day
  ]) {
    it(`finds ${planted}° with ${perArm} + ${perArm} on at least 80 % of days, its ends within 300 r/min`, () => {
      const random = createRandom(24, `planted ${perArm}`);
      let found = 0;
      const [low, high]: number[][] = [[], []];
      for (let i = 0; i < days; i++) {
        const {ranges} = curveDay(random, {perArm, planted});
        const hit = ranges.find(range => range.from < TO && range.to > FROM && range.mean > 0);
        if (!hit) continue;
        found++;
        low.push(Math.abs(hit.from - FROM));
        high.push(Math.abs(hit.to - TO));
      }
      assert.ok(tell(`${planted}° with ${perArm} + ${perArm} found`, found, days) >= 0.8);
      console.log(`  median error of its ends: ${quantile(low, 0.5)} and ${quantile(high, 0.5)} r/min`);
      assert.ok(quantile(low, 0.5) <= 300 && quantile(high, 0.5) <= 300);
    });
  }
});

describe("a planted difference of intake air", () => {
  it("of 8 °C at a spread of 3 °C is flagged on at least 80 % of 2,000 days", () => {
    const random = createRandom(25, "intake air");
    let [flagged, falsely] = [0, 0];
    for (let i = 0; i < 2000; i++) {
      const labels = drawDeal("complete", 12, random);
      const of = (moved: number) => {
        const values = Array.from(labels, label => 300 + 3 * random.normal() + moved * label);
        const runs = toRuns(
          labels,
          values.map(kelvin => -0.15 * (kelvin - 300) + 0.5 * random.normal()),
        );
        return matchedCondition({name: "intake air", unit: "K", values}, runs, {
          plan: toPlan("complete"),
          level: 0.95,
        });
      };
      if (of(8).matched === false) flagged++;
      if (of(0).matched === false) falsely++;
    }
    assert.ok(tell("8 °C flagged", flagged, 2000) >= 0.8);
    assert.ok(tell("no difference flagged", falsely, 2000) <= 0.065);
  });
});

describe("lag and scale of pairs of logs", () => {
  const scenario = scenarioNamed("heat-shield")!;
  /** A receiver's smoothing delays its speed, which no log can tell from a lag. */
  const smoothingS = scenario.logger.smoothingS;
  for (const hold of [1, 10]) {
    it(`are within 0.02 s and 0.2 % with an engine log at 10 Hz${hold > 1 ? " refreshed once in a second and held" : ""}`, () => {
      const [lags, scales]: number[][] = [[], []];
      for (let seed = 1; seed <= 20; seed++) {
        const day = simulateDay({...scenario, name: `pairs ${hold}`}, seed);
        const files = dayFiles(day);
        for (const run of day.runs) {
          const read = (name: string) => readLogBytes(Buffer.from(files.get(name)!), {name});
          const engine = read(run.file.replace(".csv", "-engine.csv"));
          const speed = engine.channels.find(
            ({name}) => name === "vehicle-speed" || name === "speed",
          )!.values;
          for (let i = 0; i < speed.length; i++) speed[i] = speed[i - (i % hold)];
          const a = speedCourse(read(run.file), ["speed"]) as SpeedCourse;
          const b = speedCourse(engine, ["vehicle-speed", "speed"]) as SpeedCourse;
          const near = alignSeries(a.timeS, a.speedMps, b.timeS, b.speedMps)!;
          const found = refinePair(a, b, near.lagS)!;
          lags.push(Math.abs(found.lagS - (run.engine!.truth.lagS - smoothingS)));
          scales.push(Math.abs(found.scale * scenario.engine!.wheelSpeedScale - 1));
        }
      }
      const words = (values: number[]) =>
        [0.5, 0.95, 1].map(share => quantile(values, share).toFixed(4)).join(", ");
      console.log(
        `${lags.length} pairs held ${hold}: lag off by (median, 95 %, all) ${words(lags)} s, scale by ${words(scales)}`,
      );
      assert.ok(quantile(lags, 0.95) <= 0.02 && quantile(scales, 0.95) <= 0.002);
    });
  }
});
