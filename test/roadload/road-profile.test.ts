import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {roadProfile} from "../../lib/roadload/road-profile.ts";
import {commonTrack} from "../../lib/roadload/track.ts";
import {simulateDay} from "../../lib/simulate/day.ts";
import {scenarioNamed} from "../../lib/simulate/scenarios.ts";
import {assertClose} from "../assert-close.ts";
import {assertShareWithin} from "../stats/reference.ts";
import {gradeErrors, loggedRuns, roadGradeAt, roadHeightAt} from "./logged-runs.ts";

describe("roadProfile", () => {
  it("gives back a road without errors, from runs that each cover a part of it", () => {
    const piece = (from: number, to: number, offset: number) => {
      const placeM = Array.from({length: to - from}, (_, i) => from + i);
      return {placeM, heightM: placeM.map(place => roadHeightAt(place) + offset)};
    };
    const profile = roadProfile([piece(0, 200, 5), piece(120, 330, -7)])!;
    // 0.02 %: what splines of 40 m and a trace of smoothing leave of a wave of 210 m
    for (let place = 20; place < 310; place += 10)
      assertClose(profile.gradeAt(place), roadGradeAt(place), 4e-4);
    assertClose(profile.offsetsM[0]! - profile.offsetsM[1]!, 12, 0.05);
    assertClose(profile.heightAt(300) - profile.heightAt(30), roadHeightAt(300) - roadHeightAt(30), 0.05);
  });
  it("errs from 12 runs by at most 1.2/√12 of what one run errs at the same smoothing, and says by how much", () => {
    const days = 30;
    const {ratio, held} = gradeErrors(days);
    assert.ok(ratio <= 1.2 / Math.sqrt(12), `${ratio} of the single-run error`);
    assertShareWithin(held, days, 0.925, 0.975);
  });
  it("has no uncertainty from one run, and no profile from none", () => {
    const [run] = loggedRuns(1, 1);
    assert.equal(roadProfile([run])!.gradeUAt(100), null);
    assert.equal(roadProfile([]), null);
    assert.equal(roadProfile([{placeM: [0, 50], heightM: [Number.NaN, Number.NaN]}]), null);
    assert.throws(() => roadProfile([run], {knotSpacingM: 0}), {name: "RangeError"});
  });
});

describe("commonTrack", () => {
  const scenario = scenarioNamed("both-ways")!;
  const day = simulateDay({...scenario, logger: {...scenario.logger, positionSdM: 2}}, 3);

  it("puts runs of both directions on one axis, and tells how good positions are from their scatter across", () => {
    const track = commonTrack(
      day.runs,
      day.runs.map(() => 2),
    );
    assert.equal(track.by, "positions");
    assert.deepEqual(
      track.places.map(place => place.problem),
      day.runs.map(() => null),
    );
    const signs = day.runs.map((run, i) => (run.direction === "out" ? 1 : -1) * track.places[i].sign);
    assert.equal(new Set(signs).size, 1);
    // 2 m in each sample, 1.86 m over a log of 9 s with a correlation time of 20 s; ten degrees of freedom
    assertClose(track.placeUM!, 1.86, 1.1);
  });
  it("goes by distance where a run has no positions or frozen ones, and says which", () => {
    const without = day.runs.map((run, i) => (i === 2 ? {...run, latitudeDeg: null} : run));
    const none = commonTrack(
      without,
      day.runs.map(() => 2),
    );
    assert.equal(none.by, "distance");
    assert.equal(none.places[2].problem, "it has no positions");
    const frozen = day.runs.map((run, i) =>
      i === 1
        ? {...run, latitudeDeg: run.latitudeDeg.map(() => 47), longitudeDeg: run.longitudeDeg.map(() => -30)}
        : run,
    );
    assert.match(
      commonTrack(
        frozen,
        day.runs.map(() => 2),
      ).places[1].problem!,
      /positions are frozen from .* s on while the car rolls/,
    );
  });
  it("names a run on another road and one with the wrong direction", () => {
    const moved = day.runs.map((run, i) =>
      i === 4 ? {...run, latitudeDeg: run.latitudeDeg.map(value => value + 0.001)} : run,
    );
    assert.match(
      commonTrack(
        moved,
        day.runs.map(() => 2),
      ).places[4].problem!,
      /it drove another road: on average \d+ m beside/,
    );
    const turned = day.runs.map((run, i) => (i === 4 ? {...run, direction: "back" as const} : run));
    assert.match(
      commonTrack(
        turned,
        day.runs.map(() => 2),
      ).places[4].problem!,
      /written as back, but its positions run the other way/,
    );
  });
});
