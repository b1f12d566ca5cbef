import {readFileSync} from "node:fs";
import {createRequire} from "node:module";
import path from "node:path";
import katex from "katex";
import type {MarkdownIt} from "markdown-it";
import {base64} from "./html.ts";

const require = createRequire(import.meta.url);

/** A formula as HTML with MathML beside it for readers that speak; a mistake in it shows in red with its reason. */
export function formulaHtml(tex: string, isBlock: boolean): string {
  return katex.renderToString(tex, {
    displayMode: isBlock,
    throwOnError: false,
    strict: "ignore",
    trust: false,
  });
}

/**
 * Plugin of markdown-it that takes `$…$` and `$$…$$` for formulas (tokens "math"). A dollar sign is text where a blank follows the opening or
 * precedes the closing one, or a digit follows the closing one ("from $5 to $10").
 */
export function useMath(markdown: MarkdownIt): void {
  markdown.inline.ruler.after("escape", "math", (state, silent) => {
    const rest = state.src.slice(state.pos, state.posMax);
    const block = /^\$\$([\s\S]+?)\$\$/.exec(rest);
    const match = block ?? /^\$((?:[^\s$\\]|\\[\s\S])(?:(?:[^$\\]|\\[\s\S])*?[^\s$\\])?)\$(?!\d)/.exec(rest);
    if (!match) return false;
    if (!silent) {
      const token = state.push("math", "math", 0);
      token.content = match[1]!;
      token.meta = {isBlock: block !== null};
    }
    state.pos += match[0].length;
    return true;
  });
}

/**
 * KaTeX's style sheet for a page, with the fonts that its formulas use and no others; "" where there is no formula.
 *
 * @param html the page's formulas somewhere in a text
 */
export function mathCss(html: string): string {
  if (!html.includes('class="katex')) return "";
  const folder = path.dirname(require.resolve("katex/dist/katex.min.css"));
  const css = readFileSync(path.join(folder, "katex.min.css"), "utf8");
  const used = usedFaces(
    css,
    new Set([...html.matchAll(/class="([^"]*)"/g)].flatMap(match => match[1]!.split(" "))),
  );
  return css.replace(/@font-face\{[^}]*\}/g, rule => {
    if (!used(rule)) return "";
    const file = /url\(([^)]+\.woff2)\)/.exec(rule)![1]!;
    const font = base64(readFileSync(path.join(folder, file)));
    return rule.replace(/src:[^;}]*/, `src:url(data:font/woff2;base64,${font}) format("woff2")`);
  });
}

/** Which font faces the rules that apply to these classes ask for. */
function usedFaces(css: string, classes: ReadonlySet<string>): (fontFaceRule: string) => boolean {
  const faces = new Set<string>();
  for (const [, selectors, body] of css.matchAll(/([^{}]+)\{([^{}]*)\}/g)) {
    const applies = selectors!
      .split(",")
      .some(selector => [...selector.matchAll(/\.([\w-]+)/g)].every(match => classes.has(match[1]!)));
    if (applies && !selectors!.startsWith("@")) faces.add(faceOf(body!));
  }
  return rule => faces.has(faceOf(rule));
}

/** Family, style and weight of a rule; a rule that names no family applies to text, which is set in the main one. */
function faceOf(body: string): string {
  const family = /KaTeX_\w+/.exec(body)?.[0] ?? "KaTeX_Main";
  const style = /font-style:(\w+)/.exec(body)?.[1] ?? "normal";
  const weight = /font-weight:(\w+)/.exec(body)?.[1] ?? "400";
  return [family, style, weight.replace("bold", "700").replace("normal", "400")].join(" ");
}
