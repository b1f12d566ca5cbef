import {median} from "../../stats/quantile.ts";
import {
  ARMS,
  type Check,
  type CheckContext,
  doubtful,
  type Finding,
  failed,
  held,
  notCheckable,
} from "./check.ts";
import {OTHER_GEAR_SHARE} from "./gear-ratio.ts";
import {channelInPass, MAD_TO_SD, type RunView} from "./run-view.ts";
import {anyWords, meanOf, percentOf, runsWords, signed} from "./words.ts";

/** From speed alone: a run this much slower or faster all along than the middle run of its arm is in another gear, or went badly wrong. */
const OTHER_PACE_SHARE = 0.1;
/** … if it also lies outside so many robust standard deviations of the runs. */
const OTHER_PACE_SD = 5;
/** Arms that differ by more than this are more than most parts do: another gear comes first to mind. */
const ARMS_APART_SHARE = 0.15;
/** A pass is in the gear of so large a share of its samples: the rest is the change into it. */
const MOST_SAMPLES = 0.9;
/** A logged gear counts as changed when another one holds for so many samples. */
const SHIFT_SAMPLES = 2;

export const sameGearCheck: Check = {
  name: "same gear",
  rule: "every run is driven in one and the same gear, told by engine speed over road speed, by the gear channel, by the session, else by pace alone",
  threshold: `engine speed over road speed within ${percentOf(OTHER_GEAR_SHARE)}; by pace alone ${percentOf(OTHER_PACE_SHARE)} and ${OTHER_PACE_SD} robust standard deviations`,
  judge(context) {
    const {used, engine} = context;
    if (engine.others.length > 0) {
      const usual = median(engine.runs.filter(run => !engine.others.includes(run)).map(run => run.ratio));
      const words = engine.others.map(({view, ratio}) => {
        const share = Math.abs(100 * (ratio / usual - 1)).toFixed(0);
        return `the engine of run ${view.run} turns ${share} % ${ratio < usual ? "slower" : "faster"} for its road speed`;
      });
      return failed(`another gear than the rest: ${words.join("; ")}`);
    }
    const noted = differing(
      used,
      used.map(view => view.loaded.run.gear),
    );
    if (noted) return failed(`the session notes different gears: ${noted}`);
    const gears = used.map(loggedGear);
    const logged = differing(used, gears);
    if (logged) return failed(`the log shows different gears: ${logged}`);
    const planned = context.day.session.band.gear;
    const other = used.filter((_, i) => planned !== null && gears[i] !== null && gears[i] !== planned);
    if (other.length > 0) {
      return doubtful(
        `the session's band is for gear ${planned}, but ${runsWords(other)} logged gear ${gears[used.indexOf(other[0])]}`,
      );
    }
    if (engine.runs.length > 0 && engine.missing.length === 0) {
      return held(`engine speed over road speed agrees within ${percentOf(OTHER_GEAR_SHARE)} in every run`);
    }
    if (gears.every(gear => gear !== null)) return held(`every run logged gear ${gears[0]}`);
    return byPace(context);
  },
};

export const noShiftCheck: Check = {
  name: "no gear change inside",
  rule: "neither gear channel nor engine speed over road speed changes within the band",
  threshold: `engine speed over road speed within ${percentOf(OTHER_GEAR_SHARE)}`,
  judge({used, engine}) {
    const shifted = used.filter(
      view =>
        gearChanges(view) ||
        Math.abs(engine.runs.find(run => run.view === view)?.departureShare ?? 0) > OTHER_GEAR_SHARE,
    );
    const words = `a gear change or kick-down within the band: ${shifted.length > 0 ? runsWords(shifted) : ""}`;
    if (shifted.length === used.length) return doubtful(`${words}, which is every run`);
    if (shifted.length > 0) return failed(`${words}, and not in the others`);
    const untold = used.filter(view => !channelInPass(view, "gear") && engine.missing.includes(view));
    if (untold.length > 0) {
      return notCheckable(
        `neither engine speed nor gear is logged for ${anyWords(untold, used)}; a gear change shows as time lost in one part of the band`,
      );
    }
    return held("one gear from entry to the end of the band in every run");
  },
};

export const constantRatioCheck: Check = {
  name: "engine speed over road speed",
  rule: "constant after entry: clutch and converter do not slip",
  threshold: "3.5 % beyond the day's runs in the same place, and 5 robust standard deviations",
  judge({engine, used}) {
    if (engine.runs.length === 0) return notCheckable("engine speed is not logged");
    const slipping = engine.runs.filter(
      run => run.departureShare !== 0 && Math.abs(run.departureShare) <= OTHER_GEAR_SHARE,
    );
    if (slipping.length > 0) {
      const words = slipping.map(
        ({view, departureShare}) => `run ${view.run} by ${signed(100 * departureShare, 1)} %`,
      );
      return doubtful(`engine speed leaves road speed after entry: ${words.join("; ")}`);
    }
    if (engine.missing.length > 0) {
      return notCheckable(`engine speed is logged in ${engine.runs.length} of ${used.length} runs only`);
    }
    const noticeable = Math.max(...engine.runs.map(run => run.noticeableShare));
    return held(`constant after entry in every run (${(100 * noticeable).toFixed(1)} % would show)`);
  },
};

/** From speed alone: a run whose whole band is far from the middle of its arm, or arms further apart than parts go. */
function byPace({used, pace}: CheckContext): Finding {
  if (!pace) return notCheckable("engine speed, gear and enough runs to compare by pace are missing");
  const factors = new Map(used.map((view, i) => [view, pace.factors[i]]));
  const ofArm = ARMS.map(arm => used.filter(view => view.arm === arm));
  const apart = new Map<RunView, number>();
  for (const views of ofArm) {
    if (views.length < 3) continue;
    const middle = median(views.map(view => factors.get(view)!));
    for (const view of views) apart.set(view, factors.get(view)! / middle - 1);
  }
  const sd = apart.size > 0 ? MAD_TO_SD * median([...apart.values()].map(Math.abs)) : 0;
  const others = [...apart].filter(
    ([, share]) => Math.abs(share) > Math.max(OTHER_PACE_SHARE, OTHER_PACE_SD * sd),
  );
  if (others.length > 0) {
    const words = others.map(
      ([view, share]) => `run ${view.run} takes ${signed(100 * share, 0)} % of time all along`,
    );
    return doubtful(
      `another gear, or something else that lasted the whole band: ${words.join("; ")} (told by pace alone)`,
    );
  }
  const [a, b] = ofArm.map(views => (views.length > 0 ? meanOf(views.map(view => factors.get(view)!)) : 1));
  if (Math.abs(b / a - 1) > ARMS_APART_SHARE) {
    return doubtful(
      `the arms differ by ${signed(100 * (b / a - 1), 0)} % of time all along, more than a part does: another gear? (told by pace alone)`,
    );
  }
  return notCheckable(
    "neither engine speed nor gear is logged or noted for every run; the pace of the runs shows no other gear",
  );
}

function differing(used: readonly RunView[], gears: readonly (number | null)[]): string | null {
  const found = [...new Set(gears.filter(gear => gear !== null))].sort((a, b) => a - b);
  if (found.length < 2) return null;
  return found
    .map(gear => `gear ${gear} in ${runsWords(used.filter((_, i) => gears[i] === gear))}`)
    .join(", ");
}

/** The one gear of which the log tells in most samples of a pass, or null. */
function loggedGear(view: RunView): number | null {
  const counts = gearCounts(view);
  let total = 0;
  for (const count of counts.values()) total += count;
  for (const [gear, count] of counts) if (count >= MOST_SAMPLES * total) return gear;
  return null;
}

/** True where the logged gear holds two values for some samples each. */
function gearChanges(view: RunView): boolean {
  return [...gearCounts(view).values()].filter(count => count >= SHIFT_SAMPLES).length > 1;
}

/** Samples of each gear in a pass; neutral and no value are the sensor between two gears. */
function gearCounts(view: RunView): Map<number, number> {
  const counts = new Map<number, number>();
  for (const gear of channelInPass(view, "gear")?.values ?? []) {
    if (gear > 0) counts.set(gear, (counts.get(gear) ?? 0) + 1); // NaN compares false
  }
  return counts;
}
