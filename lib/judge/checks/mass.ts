import {ARMS, type Check, doubtful, failed, held, notCheckable} from "./check.ts";
import {armDifference, OCCUPANT_KG} from "./conditions.ts";
import {meanOf, percentOf, signed} from "./words.ts";

/** Density of petrol [kg/m³], middle of the 720–775 of EN 228. */
const FUEL_KG_M3 = 745;
/** 7.5 kg are 0.5 % of a small car; scales and fuel gauges do not tell less. */
const MASS_KG = 7.5;
/** Where mass explains half of a difference or more, what is left is smaller than what is known to be something else. */
const EXPLAINED_SHARE = 0.5;

export const massCheck: Check = {
  name: "known mass",
  rule: "fuel and occupants do not make a difference of mass between the arms that would itself explain the effect",
  threshold: `${MASS_KG} kg; failed where it explains ${percentOf(EXPLAINED_SHARE)} of the difference of the arm means`,
  judge({used, explain, car}) {
    const masses = new Map<(typeof used)[number], number>();
    for (const view of used) {
      const {fuelM3, occupants} = view.loaded.run.conditions;
      if (fuelM3 === null && occupants === null)
        return notCheckable("neither fuel nor occupants were noted for every run");
      masses.set(view, FUEL_KG_M3 * (fuelM3 ?? 0) + OCCUPANT_KG * (occupants ?? 0));
    }
    const notes = (key: "fuelM3" | "occupants") =>
      used.filter(view => view.loaded.run.conditions[key] !== null).length;
    const mixed = (["fuelM3", "occupants"] as const).find(key => notes(key) > 0 && notes(key) < used.length);
    if (mixed)
      return notCheckable(
        `${mixed === "fuelM3" ? "fuel" : "the number of occupants"} was noted for some runs only`,
      );
    const difference = armDifference(used, masses, false)!;
    const explains = explain({massKg: difference});
    const assumed = car.assumed.length > 0 ? ` (${car.assumed.join(", ")} assumed)` : "";
    const words = `the changed arm is ${signed(difference, 1)} kg against the baseline by fuel and occupants${explains ? `, which would explain ${signed(explains, 3)} s${assumed}` : ""}`;
    if (Math.abs(difference) <= MASS_KG) return held(words, explains);
    const [baseline, changed] = ARMS.map(arm =>
      meanOf(used.filter(view => view.arm === arm).map(view => view.endS - view.startS)),
    );
    const effect = changed - baseline;
    if (
      explains !== null &&
      explains * effect > 0 &&
      Math.abs(explains) >= EXPLAINED_SHARE * Math.abs(effect)
    ) {
      return failed(
        `${words}; the arm means differ by ${signed(effect, 3)} s, of which that is half or more`,
        explains,
      );
    }
    return doubtful(words, explains);
  },
};
