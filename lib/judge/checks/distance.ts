import {geodesic} from "../../log/geodesic.ts";
import {usableChannel} from "../../run/usable-channel.ts";
import {type Check, doubtful, held, notCheckable} from "./check.ts";
import type {RunView} from "./run-view.ts";
import {meanOf, percentOf, signed} from "./words.ts";

/** Positions of one run scatter by metres at both ends of the band, more with a consumer receiver [m]. */
const SCATTER_M = 15;
/** Beyond the scatter: satellite speed is good to 0.1 %, a wheel to 2 or 3 %. */
const DIFFERENCE_SHARE = 0.03;

export const distanceCheck: Check = {
  name: "distance against positions",
  rule: "the distance through the band by ∫v dt agrees with the logged distance or with the positions at both ends",
  threshold: `${percentOf(DIFFERENCE_SHARE)}, and ${SCATTER_M} m of scatter for one run`,
  judge({used}) {
    const found = used.map(view => ({view, otherM: otherDistanceM(view)}));
    if (found.some(({otherM}) => otherM === null)) {
      return notCheckable("neither positions nor distance were logged through the band of every run");
    }
    const differences = found.map(({view, otherM}) => ({
      view,
      ofM: view.loaded.pass!.distanceM,
      byM: view.loaded.pass!.distanceM - otherM!,
    }));
    const off = differences.filter(({ofM, byM}) => Math.abs(byM) > DIFFERENCE_SHARE * ofM + SCATTER_M);
    if (off.length > 0) {
      return doubtful(
        `∫v dt against positions: ${off.map(({view, ofM, byM}) => `run ${view.run} ${signed(byM, 0)} m of ${ofM.toFixed(0)} m`).join("; ")}`,
      );
    }
    const mean = meanOf(differences.map(({byM}) => byM));
    const of = meanOf(differences.map(({ofM}) => ofM));
    const words = `∫v dt is on average ${signed(mean, 1)} m of ${of.toFixed(0)} m against positions`;
    const limit = DIFFERENCE_SHARE * of + SCATTER_M / Math.sqrt(used.length);
    return Math.abs(mean) > limit ? doubtful(`${words}: the scale of speed is off`) : held(words);
  },
};

/** Distance through the band by the log's own distance, else the line between the positions at both ends [m]. */
function otherDistanceM(view: RunView): number | null {
  const {
    loaded: {log},
    startS,
    endS,
  } = view;
  const distance = usableChannel(log, "distance");
  if (distance?.valueUnit === "m") {
    const [a, b] = [newsAt(view, distance.values, startS), newsAt(view, distance.values, endS)];
    if (a !== null && b !== null) return b - a;
  }
  const [latitude, longitude] = [
    usableChannel(log, "latitude")?.values,
    usableChannel(log, "longitude")?.values,
  ];
  if (!latitude || !longitude) return null;
  const place = (atS: number) => {
    const [north, east] = [newsAt(view, latitude, atS), newsAt(view, longitude, atS)];
    return north === null || east === null || Math.abs(north) > 90 ? null : {north, east};
  };
  const [from, to] = [place(startS), place(endS)];
  // On a bend the chord is shorter; a band is some 150 m, and a road that turns by 30° there takes 1 % off it.
  return from && to ? (geodesic(from.north, from.east, to.north, to.east)?.distanceM ?? null) : null;
}

/** Value at a time on the straight line between two changes of it: loggers repeat a position until the next fix. */
function newsAt({loaded: {log, first, end}}: RunView, values: Float64Array, atS: number): number | null {
  const {timeS} = log;
  let before = -1;
  for (let i = first; i < end; i++) {
    if (!Number.isFinite(values[i]) || (before >= 0 && values[i] === values[before])) continue;
    if (timeS[i] >= atS) {
      if (before < 0) return timeS[i] === atS ? values[i] : null;
      return (
        values[before] + ((atS - timeS[before]) / (timeS[i] - timeS[before])) * (values[i] - values[before])
      );
    }
    before = i;
  }
  return null;
}
