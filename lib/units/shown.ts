/** How an SI value is shown: value × scale + zero, with its symbol. */
export interface ShownUnit {
  symbol: string;
  scale: number;
  /** added to a value, never to a difference */
  zero: number;
}

/** SI units that a reader of engine logs thinks of in others. */
const SHOWN: Readonly<Record<string, ShownUnit>> = {
  K: {symbol: "°C", scale: 1, zero: -273.15},
  Pa: {symbol: "kPa", scale: 1e-3, zero: 0},
  W: {symbol: "kW", scale: 1e-3, zero: 0},
  "kg/s": {symbol: "g/s", scale: 1e3, zero: 0},
  "m/s": {symbol: "km/h", scale: 3.6, zero: 0},
  deg: {symbol: "°", scale: 1, zero: 0},
};
/** Ratios that nobody writes in per cent. */
const PLAIN = /^(lambda|air-fuel|gear|grade|satellites)/;

/** How a channel's values are shown, by its unit and name. */
export function shownUnit(unit: string | null, name: string): ShownUnit {
  if (unit === null) return {symbol: "", scale: 1, zero: 0};
  if (unit === "1")
    return PLAIN.test(name) ? {symbol: "", scale: 1, zero: 0} : {symbol: "%", scale: 100, zero: 0};
  return SHOWN[unit] ?? {symbol: unit, scale: 1, zero: 0};
}

/** "+1.24 °": a difference of a channel with its sign, three digits and the unit it is shown in; kelvin for differences of temperature. */
export function printDifference(value: number, unit: string | null, name: string): string {
  const {symbol, scale, zero} = shownUnit(unit, name);
  const shown = value * scale;
  const text = `${shown < 0 ? "−" : "+"}${threeDigits(Math.abs(shown))}`;
  return `${text} ${zero === 0 ? symbol : (unit ?? "")}`.trim();
}

/** Three significant digits without an exponent, at most four after the point. */
export function threeDigits(value: number): string {
  const size = Math.abs(value);
  const digits = size >= 100 ? 0 : size >= 10 ? 1 : size >= 1 ? 2 : size >= 0.1 ? 3 : 4;
  return value.toFixed(digits);
}
