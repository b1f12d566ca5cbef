/** Properties of CSS that SVG also knows as attributes of an element (SVG 1.1, appendix N "Property index"). */
const PRESENTATION = new Set(
  (
    "fill fill-opacity fill-rule stroke stroke-width stroke-opacity stroke-dasharray stroke-linecap stroke-linejoin " +
    "stroke-miterlimit opacity font-family font-size font-weight font-style font-variant text-anchor visibility " +
    "display clip-path pointer-events stop-color stop-opacity color letter-spacing vector-effect"
  ).split(" "),
);

/** Properties that only matter while a figure is alive in a page. */
const IDLE = new Set("white-space white-space-collapse text-wrap text-wrap-mode cursor".split(" "));

/**
 * Turns every `style="…"` of an SVG text into presentation attributes, so that a cleaner which strips styles does the
 * picture no harm. A property that has no such attribute stays in `style`.
 */
export function styleToAttributes(svg: string): string {
  return svg.replace(/ style="([^"]*)"/g, (_match, style: string) => {
    const attributes: string[] = [];
    const rest: string[] = [];
    for (const declaration of style.replaceAll("&quot;", "'").split(/;\s*/)) {
      const colon = declaration.indexOf(":");
      const name = declaration.slice(0, colon).trim();
      const value = declaration.slice(colon + 1).trim();
      if (colon < 0 || IDLE.has(name)) continue;
      if (PRESENTATION.has(name)) attributes.push(` ${name}="${value.replace(/^(-?[\d.]+)px$/, "$1")}"`);
      else rest.push(`${name}: ${value}`);
    }
    return attributes.join("") + (rest.length ? ` style="${rest.join("; ")}"` : "");
  });
}
