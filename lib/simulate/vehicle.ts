import {effectiveMassKg} from "../roadload/effective-mass.ts";

/** A car that exists only here. */
export interface SimulatedVehicle {
  name: string;
  /** with driver and the fuel of the start [kg] */
  massKg: number;
  massUncertaintyKg: number;
  dragAreaM2: number;
  rollingCoefficient: number;
  rollingRadiusM: number;
  /** turns of the engine for one turn of the wheels, from first gear on */
  overallRatios: readonly number[];
  /** all wheels and brakes together [kg m²] */
  wheelInertiaKgM2: number;
  /** crankshaft to clutch, at the engine [kg m²] */
  engineInertiaKgM2: number;
  /** power at the wheels at steady full throttle, by rising engine speed, at least two points; straight between them */
  powerCurve: readonly {engineSpeedRpm: number; powerW: number}[];
  /** when the throttle opens, power starts at this share of the curve and rises to it with this time constant (charge pressure) */
  throttleShare: number;
  throttleRiseS: number;
  /** what holds the car back when the throttle is closed [N] */
  liftDragN: number;
}

/**
 * Mass that the drive force accelerates in a gear [kg]: the mass of the run and the rotating parts.
 *
 * @throws {RangeError} no such gear
 */
export function accelerationMassKg(vehicle: SimulatedVehicle, gear: number, massKg: number): number {
  const {wheelInertiaKgM2, engineInertiaKgM2, rollingRadiusM} = vehicle;
  const inertiaKgM2 = wheelInertiaKgM2 + engineInertiaKgM2 * ratioOf(vehicle, gear) ** 2;
  return effectiveMassKg({massKg, inertiaKgM2, rollingRadiusM});
}

/**
 * Wheel power at steady full throttle by speed [W]. Below the first point of the curve it falls in proportion to speed; above
 * the last one the engine is cut off and gives none.
 *
 * @throws {RangeError} no such gear
 */
export function powerBySpeed(vehicle: SimulatedVehicle, gear: number): (speedMps: number) => number {
  const mpsPerRpm = (2 * Math.PI * vehicle.rollingRadiusM) / ratioOf(vehicle, gear) / 60;
  const speeds = Float64Array.from(vehicle.powerCurve, point => point.engineSpeedRpm * mpsPerRpm);
  const powers = Float64Array.from(vehicle.powerCurve, point => point.powerW);
  const last = speeds.length - 1;
  let i = 1; // most calls ask near the one before
  return speedMps => {
    if (speedMps > speeds[last]) return 0;
    if (speedMps <= speeds[0]) return (powers[0] * speedMps) / speeds[0];
    while (speeds[i] < speedMps) i++;
    while (speeds[i - 1] >= speedMps) i--;
    const share = (speedMps - speeds[i - 1]) / (speeds[i] - speeds[i - 1]);
    return powers[i - 1] + share * (powers[i] - powers[i - 1]);
  };
}

/** Engine speed in a gear, wheels not slipping [r/min]. @throws {RangeError} no such gear */
export function engineSpeedRpm(vehicle: SimulatedVehicle, gear: number, speedMps: number): number {
  return (speedMps * ratioOf(vehicle, gear) * 60) / (2 * Math.PI * vehicle.rollingRadiusM);
}

function ratioOf(vehicle: SimulatedVehicle, gear: number): number {
  const ratio = vehicle.overallRatios[gear - 1];
  if (ratio === undefined)
    throw new RangeError(`${vehicle.name} has ${vehicle.overallRatios.length} gears, not gear ${gear}`);
  return ratio;
}
