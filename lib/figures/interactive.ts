import {readFileSync} from "node:fs";
import {createRequire} from "node:module";
import {deflateSync} from "node:zlib";
import {DISPLAY, liveDisplay} from "./display.ts";

const WORDS =
  "Figures are interactive: point at a line to read it, drag to zoom, double-click to see all again.";
const OTHERWISE = "Figures stay pictures here; fairpull's own kernel makes them interactive.";

/** Event by which figures learn that the page has Plotly; the kernel's figures listen for it. */
const READY_EVENT = "fairpull-plotly";

/**
 * Makes the figures of a notebook interactive, those shown before it too: call it once, near the top.
 *
 * The library for it goes to the page (0.7 MB, nothing is fetched) and is then replaced by one line of text, so that the
 * stored notebook stays small; opened again, its figures are pictures until this is run again. In a kernel that does not
 * know fairpull the figures stay pictures, and a line says so.
 */
export function interactive(): void {
  const place = liveDisplay();
  if (!place) {
    console.log(OTHERWISE);
    return;
  }
  place.show({[DISPLAY]: () => ({"text/html": loader(), "text/plain": WORDS})});
  place.show({[DISPLAY]: () => ({"text/plain": WORDS})});
}

/** A script that unpacks Plotly in the page; wrapped, since a page with a module loader would hand Plotly to that instead. */
function loader(): string {
  const require = createRequire(import.meta.url);
  const file = require.resolve("plotly.js-cartesian-dist-min/plotly-cartesian.min.js");
  const packed = deflateSync(readFileSync(file)).toString("base64");
  return `<script>(async () => {
  if (!window.Plotly) {
    const bytes = Uint8Array.from(atob("${packed}"), letter => letter.charCodeAt(0));
    const text = await new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"))).text();
    const whole = ["(function (define, module, exports) {", text, "\\n}).call(window);"];
    const address = URL.createObjectURL(new Blob(whole, {type: "text/javascript"}));
    await new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.onload = resolve;
      script.onerror = reject;
      script.src = address;
      document.head.append(script);
    });
    URL.revokeObjectURL(address);
  }
  window.dispatchEvent(new Event("${READY_EVENT}"));
})()</script>`;
}
