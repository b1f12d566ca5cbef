import {greatCircleM} from "../../log/geodesic.ts";
import {usableChannel} from "../../run/usable-channel.ts";
import {ARMS, type Check, doubtful, held, notCheckable} from "./check.ts";
import type {RunView} from "./run-view.ts";
import {meanOf, runsWords} from "./words.ts";

/** Starting places of the arms further apart than this lie on another part of the road's profile [m]. */
const PLACE_M = 40;
/** One run that starts further than this from the middle of its direction [m]. */
const ONE_RUN_M = 100;
/** Mean Earth radius [m] (IUGG), good to 0.5 % for distances of metres. */
const EARTH_RADIUS_M = 6_371_009;
/** Headings of runs of one direction are closer than this [deg]. */
const SAME_WAY_DEG = 45;

export const placeCheck: Check = {
  name: "starting place",
  rule: "the band is entered at the same place of the road in both arms, in each direction",
  threshold: `${PLACE_M} m between the arms, ${ONE_RUN_M} m for one run`,
  judge({used}) {
    const places = used.map(view => ({view, ...placeOf(view)}));
    if (places.some(({north}) => north === undefined))
      return notCheckable("positions were not logged in every run");
    let [largest, words] = [0, ""];
    const astray: string[] = [];
    for (const direction of new Set(used.map(view => view.direction))) {
      const here = places.filter(({view}) => view.direction === direction);
      const middle = centre(here);
      for (const place of here) {
        const off = apartM(middle, place);
        if (here.length > 2 && off > ONE_RUN_M) astray.push(`run ${place.view.run} ${off.toFixed(0)} m`);
      }
      const [a, b] = ARMS.map(arm => here.filter(({view}) => view.arm === arm));
      if (a.length === 0 || b.length === 0) continue;
      const between = apartM(centre(a), centre(b));
      if (between >= largest)
        [largest, words] = [between, direction === null ? "" : ` on the way ${direction}`];
    }
    const said = `the mean place of band entry differs by ${largest.toFixed(0)} m between the arms${words}`;
    if (astray.length > 0) return doubtful(`${said}; far from the others: ${astray.join("; ")}`);
    return largest > PLACE_M ? doubtful(said) : held(said);
  },
};

export const headingCheck: Check = {
  name: "heading",
  rule: "runs noted in one direction drive the same way, and where no direction is noted all do or both arms equally",
  threshold: `${SAME_WAY_DEG}°`,
  judge({used}) {
    const known = used.filter(view => view.headingDeg !== null);
    if (known.length < used.length)
      return notCheckable("course and positions do not tell the heading of every run");
    const noted = used.filter(view => view.loaded.run.direction !== null);
    for (const direction of ["out", "back"] as const) {
      const here = noted.filter(view => view.loaded.run.direction === direction);
      const odd = here.filter(
        view => here.filter(other => apartDeg(view, other) > SAME_WAY_DEG).length > here.length / 2,
      );
      if (odd.length > 0)
        return doubtful(
          `noted as ${direction}, but driven another way than the other ${direction} runs: ${runsWords(odd)}`,
        );
    }
    const back = (arm: string) => used.filter(view => view.arm === arm && view.direction === "back").length;
    const of = (arm: string) => used.filter(view => view.arm === arm).length;
    const ways = `${back("baseline")} of ${of("baseline")} baseline and ${back("changed")} of ${of("changed")} changed runs were driven back`;
    const both = new Set(used.map(view => view.direction)).size > 1;
    if (
      noted.length < used.length &&
      both &&
      back("baseline") * of("changed") !== back("changed") * of("baseline")
    ) {
      return doubtful(
        `${ways}, and the session does not note the direction, so the model cannot take it out`,
      );
    }
    return held(both ? ways : `every run heads the same way, ${known[0].headingDeg!.toFixed(0)}°`);
  },
};

/** First position from band entry on. */
function placeOf({loaded: {log}, first, end}: RunView): Place {
  const [latitude, longitude] = [
    usableChannel(log, "latitude")?.values,
    usableChannel(log, "longitude")?.values,
  ];
  if (!latitude || !longitude) return {};
  for (let i = first; i < end; i++) {
    if (Math.abs(latitude[i]) <= 90 && Number.isFinite(longitude[i]))
      return {north: latitude[i], east: longitude[i]};
  }
  return {};
}

interface Place {
  north?: number;
  east?: number;
}

function centre(places: readonly Place[]): Required<Place> {
  return {north: meanOf(places.map(place => place.north!)), east: meanOf(places.map(place => place.east!))};
}

function apartM(a: Place, b: Place): number {
  return greatCircleM(a.north!, a.east!, b.north!, b.east!, EARTH_RADIUS_M);
}

function apartDeg(a: RunView, b: RunView): number {
  const turn = Math.abs(a.headingDeg! - b.headingDeg!) % 360;
  return Math.min(turn, 360 - turn);
}
