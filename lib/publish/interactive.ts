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
 * The page's script. It unfolds all code at once, copies code, and exchanges the picture of a figure for the living figure when it
 * comes near the reader's view; arrow keys go through the points of a living figure and a line below says each. Before
 * printing every figure is its picture again. Whatever fails leaves the pictures where they are.
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
  for (const copy of document.querySelectorAll("button.copy")) {
    if (!navigator.clipboard) break;
    copy.hidden = false;
    copy.addEventListener("click", async () => {
      const text = copy.parentElement.querySelector("code").textContent;
      const done = await navigator.clipboard.writeText(text).then(() => true, () => false);
      copy.textContent = done ? "Copied" : "Not copied";
      setTimeout(() => { copy.textContent = "Copy"; }, 2000);
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
      walk(figure, live);
    } catch (error) {
      live.hidden = true;
      picture.hidden = false;
    }
  };
  const plain = text => String(text).replace(/<[^>]*>/g, "");
  const walk = (figure, live) => {
    const says = document.createElement("p");
    says.className = "said";
    says.setAttribute("aria-live", "polite");
    figure.querySelector("figcaption").after(says);
    live.tabIndex = 0;
    let [trace, point] = [-1, 0];
    live.addEventListener("keydown", event => {
      const step = {ArrowRight: [0, 1], ArrowLeft: [0, -1], ArrowDown: [1, 0], ArrowUp: [-1, 0]}[event.key];
      const traces = live._fullData.filter(one => one.visible === true && one.x && one.y);
      if (!step || !traces.length) return;
      event.preventDefault();
      if (trace < 0) trace = 0;
      else {
        trace = Math.max(0, Math.min(traces.length - 1, trace + step[0]));
        point += step[1];
      }
      const {x, y, name, index, xaxis, yaxis} = traces[trace];
      point = Math.max(0, Math.min(x.length - 1, point));
      window.Plotly.Fx.hover(live, [{curveNumber: index, pointNumber: point}], [(xaxis || "x") + (yaxis || "y")]);
      says.textContent = plain(name) + ", point " + (point + 1) + " of " + x.length + ": " + plain(x[point]) + ", " + plain(y[point]);
    });
    live.addEventListener("blur", () => {
      says.textContent = "";
      window.Plotly.Fx.unhover(live);
    });
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
