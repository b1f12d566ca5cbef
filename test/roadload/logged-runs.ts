import {roadProfile} from "../../lib/roadload/road-profile.ts";
import {correlatedNoise} from "../../lib/simulate/noise.ts";
import {createRandom} from "../../lib/stats/random.ts";

/** A made-up road: its height and grade by place. */
export const roadHeightAt = (place: number) =>
  80 + 0.9 * Math.cos((2 * Math.PI * (place - 100)) / 740) + 0.15 * Math.cos(place / 33.4);
export const roadGradeAt = (place: number) =>
  -((0.9 * 2 * Math.PI) / 740) * Math.sin((2 * Math.PI * (place - 100)) / 740) -
  (0.15 / 33.4) * Math.sin(place / 33.4);

/** Heights as a satellite logger has them: an offset a run and 0.3 m of wandering over 12 s at 22 m/s. */
export function loggedRuns(seed: number, runs: number) {
  const random = createRandom(seed, "profile");
  return Array.from({length: runs}, (_, r) => {
    const offset = 3 * random.normal();
    const wander = correlatedNoise(random, 0.3, 12, 0.1);
    const start = 6 * random.normal();
    const places = Array.from({length: 110}, (_, i) => start + 2.2 * i).map(place =>
      r % 2 ? 260 - place : place,
    );
    return {
      placeM: places,
      heightM: places.map(place => Math.round(10 * (roadHeightAt(place) + offset + wander())) / 10),
    };
  });
}

/** Over how many days of 12 runs the joint profile errs against single runs, and on how many its 95 % interval at one place holds the grade. */
export function gradeErrors(days: number): {ratio: number; held: number} {
  let [joint, single, held] = [0, 0, 0];
  for (let seed = 1; seed <= days; seed++) {
    const runs = loggedRuns(seed, 12);
    const together = roadProfile(runs)!;
    const alone = runs.slice(0, 4).map(run => roadProfile([run])!);
    for (let place = 40; place <= 210; place += 10) {
      joint += (together.gradeAt(place) - roadGradeAt(place)) ** 2;
      single +=
        alone.reduce((sum, profile) => sum + (profile.gradeAt(place) - roadGradeAt(place)) ** 2, 0) /
        alone.length;
    }
    // one place a day, so that the days are independent; t of 11 degrees of freedom
    if (Math.abs(together.gradeAt(120) - roadGradeAt(120)) <= 2.201 * together.gradeUAt(120)!) held++;
  }
  return {ratio: Math.sqrt(joint / single), held};
}
