import type {CoastdownDocument, LoadTerm} from "../result/coastdown-document.ts";

/** Speed at which the answer tells the force, where it was driven [m/s]. */
const USUAL_MPS = 80 / 3.6;

/** The answer of a coastdown in words: its state, the terms in a sentence, what they do not say, and what to do next. @param fitWarnings of all runs together; single runs are in the checks */
export function coastdownAnswer(
  result: Pick<CoastdownDocument, "terms" | "forces" | "checks" | "drag_area_m2" | "rolling_coefficient">,
  fitWarnings: readonly string[],
): Pick<CoastdownDocument, "state" | "words" | "silent" | "next"> {
  const {terms, forces, checks, drag_area_m2, rolling_coefficient} = result;
  const failed = checks
    .filter(({outcome}) => outcome === "failed")
    .map(({name, words}) => `${name}: ${words}`);
  const doubts = [...failed, ...fitWarnings];
  const few = terms[0].interval === null;
  const state = few ? "too-few-runs" : doubts.length > 0 ? "in-doubt" : "found";
  const [f0, f1, f2] = (["F0", "F1", "F2"] as const).map(name => terms.find(term => term.name === name));
  const force = [...forces].sort(
    (a, b) => Math.abs(a.speed_mps - USUAL_MPS) - Math.abs(b.speed_mps - USUAL_MPS),
  )[0];
  const sum = [
    `${told(f0!, 1)} that do not change with speed`,
    ...(f1 ? [`${told(f1, 2)} that grow with it`] : []),
    `${told(f2!, 4)} that grow with its square`,
  ];
  const words =
    `On a level road in still air this car is held back by ${sum.slice(0, -1).join(", ")} and ${sum.at(-1)}` +
    `${force ? `: together ${told(force, 0)} at ${(3.6 * force.speed_mps).toFixed(0)} km/h` : ""}.`;
  return {
    state,
    words: doubts.length > 0 ? `${words} In doubt: ${doubts.join("; ")}.` : words,
    silent:
      "Mass and air density are taken as known: 1 % of mass is 1 % of every force. The terms belong to this car, its tyres, this surface and a dry day; " +
      "wind from the side and a road that is not evenly sloped are in them and in no interval.",
    next:
      state === "found"
        ? `Write them into a session as vehicle: {dragArea: ${drag_area_m2.toFixed(3)} m2, rollingCoefficient: ${rolling_coefficient.toFixed(5)}}; coast again after a change of tyres, height or load.`
        : few
          ? "Drive at least 5 runs, in both directions, from as fast as is allowed."
          : "Mend what is in doubt, or drive these runs again, before anything rests on the terms.",
  };
}

/** "143.2 N (141.8 to 144.7 N)", without the bracket where there is no interval. */
function told({estimate, interval, unit}: LoadTerm, digits: number): string {
  const text = (value: number) => `${value.toFixed(digits).replace("-", "−")} ${unit.replace("^2", "²")}`;
  return interval
    ? `${text(estimate)} (${interval.low.toFixed(digits).replace("-", "−")} to ${text(interval.high)})`
    : text(estimate);
}
