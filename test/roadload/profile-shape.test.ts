import assert from "node:assert/strict";
import {describe, it} from "vitest";
import {profileShapeU} from "../../lib/roadload/profile-shape.ts";
import {roadProfile} from "../../lib/roadload/road-profile.ts";
import {correlatedNoise} from "../../lib/simulate/noise.ts";
import {createRandom} from "../../lib/stats/random.ts";
import {assertShareWithin} from "../stats/reference.ts";

const height = (place: number) => 80 + 1.2 * Math.cos(place / 90);

/** Runs over one road with an offset each and 0.3 m of wandering over 12 s at 22 m/s, as satellite height has it. */
function loggedRuns(seed: number, runs: number) {
  const random = createRandom(seed, "shape");
  return Array.from({length: runs}, () => {
    const offset = 3 * random.normal();
    const wander = correlatedNoise(random, 0.3, 12, 0.1);
    const placeM = Array.from({length: 120}, (_, i) => 2.2 * i);
    return {placeM, heightM: placeM.map(place => height(place) + offset + wander())};
  });
}

describe("profileShapeU", () => {
  const places = Float64Array.from({length: 45}, (_, k) => 20 + 5 * k);
  const mean = (values: ArrayLike<number>) =>
    Array.from(values).reduce((sum, value) => sum + value, 0) / values.length;

  it("holds the true shape as often as Student's t of runs − 1 degrees of freedom says", () => {
    const days = 120;
    let held = 0;
    const trueMean = mean(places.map(height));
    for (let seed = 1; seed <= days; seed++) {
      const profile = roadProfile(loggedRuns(seed, 8))!;
      const found = places.map(place => profile.heightAt(place));
      const k = 15; // one place a day, so that the days are independent
      const error = found[k] - mean(found) - (height(places[k]) - trueMean);
      // t of 7 degrees of freedom at 97.5 %: NIST/SEMATECH e-Handbook, 1.3.6.7.2: 2.365
      if (Math.abs(error) <= 2.365 * profileShapeU(profile, places)[k]) held++;
    }
    assertShareWithin(held, days, 0.925, 0.975);
  });
  it("is zero where all runs agree, whatever their offsets", () => {
    const placeM = Array.from({length: 120}, (_, i) => 2.2 * i);
    const alike = [0, 5, -7].map(offset => ({placeM, heightM: placeM.map(place => 0.01 * place + offset)}));
    for (const u of profileShapeU(roadProfile(alike)!, places)) assert.ok(u < 1e-6, String(u));
  });
  it("is refused for one run", () => {
    assert.throws(() => profileShapeU(roadProfile(loggedRuns(1, 1))!, places), {
      name: "RangeError",
      message: /one run cannot tell how far its profile is wrong/,
    });
  });
});
