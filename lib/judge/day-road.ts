import type {DayRoad, RoadRun} from "../result/day-road.ts";
import {profileShapeU} from "../roadload/profile-shape.ts";
import type {RoadProfile} from "../roadload/road-profile.ts";
import type {TestDay} from "../run/day.ts";
import {usableChannel} from "../run/usable-channel.ts";
import {studentTQuantile} from "../stats/distributions.ts";
import {correctionOf, type JudgedCorrection} from "./correction.ts";

/** Distance of the places at which the profile is given [m]: an eighth of that of its knots. */
const STEP_M = 5;
const LEVEL = 0.95;

/**
 * The road that a correction takes out: height and grade by place from all runs, how well they are known, and each run's own heights on it.
 *
 * Height is about its mean: that of one receiver is good to metres, and only the shape matters. Its band is that of the shape, by what
 * each run adds to it (as `RoadProfile.varianceOf`), with Student's t of runs − 1 degrees of freedom.
 *
 * @returns null where no heights were logged, or nothing ties the places of both directions
 * @throws {InputError} as `correctionOf`
 */
export function dayRoad(day: TestDay): DayRoad | null {
  const correction = correctionOf(day);
  const {profile, track} = correction;
  if (!profile) return null;
  const turn = outwardSign(day, correction);
  const zeroM = turn > 0 ? profile.fromM : profile.toM;
  const outward = (placeM: number) => turn * (placeM - zeroM);
  const onTrack = (placeM: number) => zeroM + turn * placeM;
  const count = Math.floor((profile.toM - profile.fromM) / STEP_M) + 1;
  const placeM = Float64Array.from({length: count}, (_, k) => k * STEP_M);
  const along = placeM.map(onTrack);
  const heightM = along.map(profile.heightAt);
  const meanM = meanOf(heightM);
  const factor = profile.runs > 1 ? studentTQuantile((1 + LEVEL) / 2, profile.runs - 1) : null;
  const ends = correction.runs.flatMap(run =>
    run ? [run.pull.placeM[0], run.pull.placeM[run.pull.placeM.length - 1]].map(outward) : [],
  );
  return {
    by: track.by,
    placeM,
    heightM: heightM.map(height => height - meanM),
    grade: along.map(place => turn * profile.gradeAt(place)),
    heightHalfWidthM: factor === null ? null : profileShapeU(profile, along).map(u => factor * u),
    gradeHalfWidth: factor === null ? null : along.map(place => factor * profile.gradeUAt(place)!),
    runs: day.runs.flatMap(({run, log, first, end}, i): RoadRun[] => {
      const offsetM = profile.offsetsM[i];
      const heights = usableChannel(log, "height")?.values.subarray(first, end);
      if (offsetM === null || !heights) return [];
      const places = track.places[i].placeM;
      const rows = Array.from(heights.keys()).filter(
        row => Number.isFinite(heights[row]) && Number.isFinite(places[row]),
      );
      const {run: number, arm, direction} = run;
      return [
        {
          run: number,
          arm,
          direction,
          placeM: Float64Array.from(rows, row => outward(places[row])),
          heightM: Float64Array.from(rows, row => heights[row] - offsetM - meanM),
        },
      ];
    }),
    pulls: ends.length > 0 ? {fromM: Math.min(...ends), toM: Math.max(...ends)} : null,
    residualSdM: profile.residualSdM,
    unknown: unknownOf(day, correction, profile),
  };
}

/** −1 where the track was laid out along a run that drove back. */
function outwardSign(day: TestDay, {track}: JudgedCorrection): 1 | -1 {
  const agreement = day.runs.reduce((sum, {run: {direction}}, i) => {
    const {sign} = track.places[i];
    return sum + (direction === null ? 0 : direction === "out" ? sign : -sign);
  }, 0);
  return agreement < 0 ? -1 : 1;
}

/** What the heights of a day leave open, in words. */
function unknownOf(day: TestDay, {track, problems}: JudgedCorrection, profile: RoadProfile): string[] {
  const offsets = profile.offsetsM.filter(offset => offset !== null);
  const range = Math.max(...offsets) - Math.min(...offsets);
  const words = [
    `height above sea level (the receivers' own lies up to ${range.toFixed(1)} m apart from run to run)`,
    `bends of height shorter than some ${Math.round(2.5 * profile.knotSpacingM)} m`,
  ];
  if (profile.runs === 1) words.push("how far the profile is wrong, since one run alone has heights");
  if (track.by === "distance")
    words.push("where each run started: without usable positions all starts are taken as one place");
  if (new Set(day.runs.map(({run}) => run.direction)).size < 2)
    words.push("the wind, since one direction was driven");
  for (const [i, problem] of problems.entries())
    if (problem !== null) words.push(`run ${day.runs[i].run.run}: ${problem}`);
  return words;
}

function meanOf(values: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i];
  return sum / values.length;
}
