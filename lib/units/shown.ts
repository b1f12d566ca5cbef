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

/** "+1.24°": a difference of a channel with its sign, three digits and the unit it is shown in; kelvin for differences of temperature. */
export function printDifference(value: number, unit: string | null, name: string): string {
  const {symbol, scale, zero} = shownUnit(unit, name);
  const shown = value * scale;
  const size = threeDigits(Math.abs(shown));
  return `${Number(size) === 0 ? "0" : signed(shown, size)}${behind(zero === 0 ? symbol : (unit ?? ""))}`;
}

/** "+0.45° (+0.09° to +0.82°)": a difference with its interval, to two digits of the half width. */
export function printSpan(
  value: number,
  {low, high}: {low: number; high: number},
  {unit, name}: {unit: string | null; name: string},
): string {
  const {symbol, scale, zero} = shownUnit(unit, name);
  const half = (Math.abs(high - low) / 2) * scale;
  const digits = half > 0 ? Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(half)))) : 2;
  const unitText = behind(zero === 0 ? symbol : (unit ?? ""));
  const one = (number: number) => {
    const text = Math.abs(number * scale).toFixed(digits);
    return `${Number(text) === 0 ? text : signed(number, text)}${unitText}`;
  };
  return `${one(value)} (${one(low)} to ${one(high)})`;
}

/** The field's word as it is read: "knock correction"; the header of a column stays as it is. */
export function channelName(name: string): string {
  return /^[a-z]+(-[a-z0-9]+)+( at band entry| as noted)?$/.test(name) ? name.replaceAll("-", " ") : name;
}

function signed(value: number, size: string): string {
  return `${value < 0 ? "−" : "+"}${size}`;
}

/** A unit behind its number: the sign of a degree stands close. */
function behind(unit: string): string {
  return unit === "" || unit === "°" ? unit : ` ${unit}`;
}

/** "0.012", "below 0.001": a p-value to three digits after the point. */
export function printP(p: number): string {
  return p < 0.001 ? "below 0.001" : p.toFixed(3);
}

/** Three significant digits without an exponent, at most four after the point. */
export function threeDigits(value: number): string {
  const size = Math.abs(value);
  const digits = size >= 100 ? 0 : size >= 10 ? 1 : size >= 1 ? 2 : size >= 0.1 ? 3 : 4;
  return value.toFixed(digits);
}
