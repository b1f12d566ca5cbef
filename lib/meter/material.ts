/** A conductor: resistivity at 20 °C and its change with temperature. */
export interface Material {
  /** [ohm m] at 293.15 K */
  resistivityOhmM: number;
  /** change per kelvin as a share of the value at 20 °C; null where no figure is at hand */
  perKelvin: number | null;
  source: string;
}

/** 20 °C, to which resistances are brought. */
export const REFERENCE_K = 293.15;

const CRC = "CRC Handbook, 293 K (from memory, not verified)";
const GRADE = "varies with grade by 15 % and more (from memory, not verified)";

/** Good enough to ask whether a reading can be true, not to replace one. */
export const MATERIALS: Readonly<Record<string, Material>> = {
  "annealed copper": {resistivityOhmM: 1e-6 / 58, perKelvin: 0.00393, source: "IEC 60028 (from memory)"},
  aluminium: {resistivityOhmM: 26.5e-9, perKelvin: null, source: CRC},
  iron: {resistivityOhmM: 96.1e-9, perKelvin: null, source: CRC},
  "low-carbon steel": {resistivityOhmM: 160e-9, perKelvin: null, source: GRADE},
  "stainless steel 304": {resistivityOhmM: 720e-9, perKelvin: null, source: GRADE},
  "stainless steel 316": {resistivityOhmM: 740e-9, perKelvin: null, source: GRADE},
  "brass 70/30": {resistivityOhmM: 65e-9, perKelvin: null, source: GRADE},
};

/**
 * Resistance that a wire or bar of this material should have [ohm]: ρ·length/area, brought to its temperature.
 *
 * @param wire lengthM (out and back where the current returns in it), areaM2, temperatureK (default 20 °C)
 * @throws {RangeError} length or area not positive; a temperature other than 20 °C for a material without coefficient
 */
export function expectedResistanceOhm(
  material: Material,
  {lengthM, areaM2, temperatureK = REFERENCE_K}: {lengthM: number; areaM2: number; temperatureK?: number},
): number {
  if (!(lengthM > 0) || !(areaM2 > 0)) {
    throw new RangeError(
      `expectedResistanceOhm: length and area must be above 0, found ${lengthM} m and ${areaM2} m²`,
    );
  }
  const at20 = (material.resistivityOhmM * lengthM) / areaM2;
  if (temperatureK === REFERENCE_K) return at20;
  if (material.perKelvin === null) {
    throw new RangeError(
      "expectedResistanceOhm: this material has no temperature coefficient here; leave out temperatureK",
    );
  }
  return at20 * (1 + material.perKelvin * (temperatureK - REFERENCE_K));
}

/**
 * Brings a resistance read at some temperature to 20 °C: R/(1 + α(T − 20 °C)).
 *
 * @throws {RangeError} the coefficient makes the resistance vanish at that temperature
 */
export function resistanceAt20C(
  ohm: number,
  {temperatureK, perKelvin}: {temperatureK: number; perKelvin: number},
): number {
  const factor = 1 + perKelvin * (temperatureK - REFERENCE_K);
  if (!(factor > 0)) {
    throw new RangeError(`resistanceAt20C: ${perKelvin} per kelvin leaves nothing at ${temperatureK} K`);
  }
  return ohm / factor;
}

/** Cross-section of a wire by American wire gauge [m²], d = 0.005 in · 92^((36 − n)/39) (ASTM B258, from memory). */
export function wireGaugeAreaM2(gauge: number): number {
  if (!(gauge >= -3 && gauge <= 56)) {
    throw new RangeError(`wireGaugeAreaM2: gauge must be −3 (0000) to 56, found ${gauge}`);
  }
  const diameterM = 0.000127 * 92 ** ((36 - gauge) / 39);
  return (Math.PI / 4) * diameterM * diameterM;
}
