import {readFileSync} from "node:fs";
import {createRequire} from "node:module";
import {deflateSync} from "node:zlib";
import {base64} from "./html.ts";

const require = createRequire(import.meta.url);
const BEST = 9;

let packed: string | null = null;

/** Plotly's cartesian bundle as a data block of a page (0.67 MB): compressed and unpacked by the reader's browser. */
export function interactiveBundle(): string {
  const file = require.resolve("plotly.js-cartesian-dist-min/plotly-cartesian.min.js");
  packed ??= base64(deflateSync(readFileSync(file), {level: BEST}));
  return `<script type="text/plain" id="plotly">${packed}</script>`;
}

/**
 * The page's script. It unfolds all code at once, and exchanges the picture of a figure for the living figure when it
 * comes near the reader's view. Whatever fails leaves the pictures where they are.
 */
export const PAGE_SCRIPT = `"use strict";
(() => {
  const codes = [...document.querySelectorAll("details.code")];
  const all = document.getElementById("all-code");
  if (all && codes.length) {
    all.hidden = false;
    all.addEventListener("click", () => {
      const open = all.getAttribute("aria-pressed") !== "true";
      all.setAttribute("aria-pressed", String(open));
      for (const code of codes) code.open = open;
    });
  }
  const block = document.getElementById("plotly");
  if (!block || !window.DecompressionStream || !window.IntersectionObserver) return;
  let loading = null;
  const load = () => loading ??= (async () => {
    const bytes = Uint8Array.from(atob(block.textContent), letter => letter.charCodeAt(0));
    const text = new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate")));
    const address = URL.createObjectURL(new Blob([await text.blob()], {type: "text/javascript"}));
    await new Promise((resolve, reject) => {
      const script = document.createElement("script");
      script.onload = resolve;
      script.onerror = reject;
      script.src = address;
      document.head.append(script);
    });
    URL.revokeObjectURL(address);
  })();
  const wake = async figure => {
    await load();
    const spec = JSON.parse(figure.querySelector("script").textContent);
    const live = figure.querySelector(".live");
    const picture = figure.querySelector("picture");
    live.style.height = picture.getBoundingClientRect().height + "px";
    live.hidden = false;
    picture.hidden = true;
    const layout = {...spec.layout, autosize: true, height: undefined};
    const config = {responsive: true, displaylogo: false, modeBarButtonsToRemove: ["select2d", "lasso2d", "autoScale2d"]};
    try {
      await window.Plotly.newPlot(live, spec.data, layout, config);
      figure.classList.add("awake");
    } catch (error) {
      live.hidden = true;
      picture.hidden = false;
    }
  };
  const seen = new IntersectionObserver(entries => {
    for (const {isIntersecting, target} of entries) {
      if (!isIntersecting) continue;
      seen.unobserve(target);
      wake(target).catch(() => {});
    }
  }, {rootMargin: "400px"});
  for (const figure of document.querySelectorAll("figure.plot")) seen.observe(figure);
})();
`;
