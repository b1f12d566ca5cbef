import type {DOMWindow} from "jsdom";

/**
 * Gives a window without a layout engine enough geometry for Plotly: sizes of texts, rectangles and straight paths.
 *
 * Widths are those of DejaVu Sans by class of letter; against a browser a line of figure text is off by less than
 * about 8 % of its width, which moves margins and legends by a few pixels and no data.
 */
export function installMeasuring(window: DOMWindow): void {
  const svg = window.SVGElement.prototype as unknown as Record<string, unknown>;
  const element = window.Element.prototype;
  const htmlRect = element.getBoundingClientRect;
  const rect = function (this: Element) {
    if (this.namespaceURI !== SVG_NAMESPACE) return htmlRect.call(this);
    const {x, y, width, height} = placed(boxOf(this), this, this.closest("svg"));
    return {x, y, width, height, left: x, top: y, right: x + width, bottom: y + height};
  };
  element.getBoundingClientRect = rect as typeof htmlRect;
  svg["getBoundingClientRect"] = rect;
  svg["getBBox"] = function (this: Element) {
    return boxOf(this);
  };
  svg["getComputedTextLength"] = function (this: Element) {
    return boxOf(this).width;
  };
  svg["getTotalLength"] = function (this: Element) {
    return lengthOf(pathPoints(this));
  };
  svg["getPointAtLength"] = function (this: Element, length: number) {
    return pointAt(pathPoints(this), length);
  };
}

interface Box {
  x: number;
  y: number;
  width: number;
  height: number;
}

const SVG_NAMESPACE = "http://www.w3.org/2000/svg";

// biome-ignore format: a table
/** Advance widths in em of letters that are narrower or wider than their class (DejaVu Sans). */
const NARROW_AND_WIDE: Record<string, number> = {
  i: 0.28, j: 0.28, l: 0.28, f: 0.35, t: 0.39, r: 0.41, m: 0.97, w: 0.82, M: 0.86, W: 0.99,
  " ": 0.32, ".": 0.32, ",": 0.32, ":": 0.34, "-": 0.36, "−": 0.84, "/": 0.34, "(": 0.39, ")": 0.39,
};
const CAPITAL_EM = 0.68;
const DIGIT_EM = 0.636;
const OTHER_EM = 0.6;
const ASCENT_EM = 0.93;
const LINE_EM = 1.17;
const LINE_STEP_EM = 1.3; // Plotly's own distance of lines

/** Width of a line of DejaVu Sans [px], by class of letter. */
export function textWidth(text: string, sizePx: number): number {
  let em = 0;
  for (const letter of text) {
    em +=
      NARROW_AND_WIDE[letter] ??
      (/\p{Lu}/u.test(letter) ? CAPITAL_EM : /\d/.test(letter) ? DIGIT_EM : OTHER_EM);
  }
  return em * sizePx;
}

function boxOf(element: Element): Box {
  const tag = element.tagName.toLowerCase();
  if (tag === "rect") {
    return {
      x: number(element, "x"),
      y: number(element, "y"),
      width: number(element, "width"),
      height: number(element, "height"),
    };
  }
  const texts = tag === "text" || tag === "tspan" ? [element] : [...element.querySelectorAll("text")];
  const boxes = texts.map(text => placed(textBox(text), text, element));
  if (boxes.length === 0) return {x: 0, y: 0, width: 0, height: 0};
  const x = Math.min(...boxes.map(box => box.x));
  const y = Math.min(...boxes.map(box => box.y));
  return {
    x,
    y,
    width: Math.max(...boxes.map(box => box.x + box.width)) - x,
    height: Math.max(...boxes.map(box => box.y + box.height)) - y,
  };
}

function textBox(text: Element): Box {
  const sizePx = inheritedFontSizePx(text);
  const lines = [...text.querySelectorAll("tspan.line")];
  const shown = lines.length ? lines : [text];
  const width = Math.max(...shown.map(line => textWidth(line.textContent ?? "", sizePx)));
  const anchor = inherited(text, "text-anchor");
  const x = number(text, "x") - (anchor === "middle" ? width / 2 : anchor === "end" ? width : 0);
  const y = number(text, "y") - ASCENT_EM * sizePx;
  return {x, y, width, height: (LINE_EM + (shown.length - 1) * LINE_STEP_EM) * sizePx};
}

/** A box as it lies in one of the elements that contain it (null: the page), after every transform on the way. */
function placed(box: Box, element: Element, container: Element | null): Box {
  let corners: [number, number][] = [
    [box.x, box.y],
    [box.x + box.width, box.y],
    [box.x, box.y + box.height],
    [box.x + box.width, box.y + box.height],
  ];
  for (let at: Element | null = element; at && at !== container; at = at.parentElement) {
    const steps = [...(at.getAttribute("transform") ?? "").matchAll(/(\w+)\(([^)]*)\)/g)];
    for (const [, name, list] of steps.reverse()) {
      const numbers = list!.split(/[\s,]+/).map(Number);
      corners = corners.map(corner => transformed(name!, numbers, corner));
    }
  }
  const xs = corners.map(([x]) => x);
  const ys = corners.map(([, y]) => y);
  const [x, y] = [Math.min(...xs), Math.min(...ys)];
  return {x, y, width: Math.max(...xs) - x, height: Math.max(...ys) - y};
}

/** One step of an SVG transform list; Plotly uses these three. */
function transformed(name: string, numbers: number[], [x, y]: [number, number]): [number, number] {
  const [a = 0, b, c = 0] = numbers;
  if (name === "translate") return [x + a, y + (b ?? 0)];
  if (name === "scale") return [x * a, y * (b ?? a)];
  if (name !== "rotate") return [x, y];
  const turn = (a * Math.PI) / 180;
  const [dx, dy] = [x - (b ?? 0), y - c];
  return [
    (b ?? 0) + dx * Math.cos(turn) - dy * Math.sin(turn),
    c + dx * Math.sin(turn) + dy * Math.cos(turn),
  ];
}

const DEFAULT_FONT_PX = 12;

function inheritedFontSizePx(element: Element): number {
  for (let at: Element | null = element; at; at = at.parentElement) {
    const size = Number.parseFloat((at as SVGElement).style?.fontSize ?? "");
    if (size) return size;
  }
  return DEFAULT_FONT_PX;
}

function inherited(element: Element, attribute: string): string | null {
  return element.closest(`[${attribute}]`)?.getAttribute(attribute) ?? null;
}

function number(element: Element, attribute: string): number {
  return Number(element.getAttribute(attribute)) || 0;
}

/** The corners of a path of straight segments. */
function pathPoints(path: Element): [number, number][] {
  const numbers = (path.getAttribute("d") ?? "").match(/-?[\d.]+(?:e-?\d+)?/g) ?? [];
  const points: [number, number][] = [];
  for (let i = 0; i + 1 < numbers.length; i += 2) points.push([Number(numbers[i]), Number(numbers[i + 1])]);
  return points;
}

function lengthOf(points: readonly [number, number][]): number {
  let sum = 0;
  for (let i = 1; i < points.length; i++) sum += distance(points[i - 1]!, points[i]!);
  return sum;
}

function pointAt(points: readonly [number, number][], length: number): {x: number; y: number} {
  let left = length;
  for (let i = 1; i < points.length; i++) {
    const [from, to] = [points[i - 1]!, points[i]!];
    const step = distance(from, to);
    if (left <= step || i === points.length - 1) {
      const part = step > 0 ? Math.min(1, left / step) : 0;
      return {x: from[0] + part * (to[0] - from[0]), y: from[1] + part * (to[1] - from[1])};
    }
    left -= step;
  }
  return {x: points[0]?.[0] ?? 0, y: points[0]?.[1] ?? 0};
}

function distance(a: readonly [number, number], b: readonly [number, number]): number {
  return Math.hypot(b[0] - a[0], b[1] - a[1]);
}
