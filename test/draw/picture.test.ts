import assert from "node:assert/strict";
import {JSDOM} from "jsdom";
import {afterAll, beforeAll, describe, it} from "vitest";
import {styleToAttributes} from "../../lib/draw/attributes.ts";
import {openPainter, type Painter, type PictureRequest} from "../../lib/draw/picture.ts";

const SCATTER: PictureRequest = {
  data: [
    {x: [1, 2, 3], y: [10, 14, 12], type: "scatter", mode: "lines+markers", name: "first"},
    {
      x: [1, 2, 3],
      y: [11, 12, 15],
      error_y: {array: [1, 1, 1]},
      type: "scatter",
      mode: "markers",
      name: "second",
    },
  ],
  layout: {
    showlegend: true,
    legend: {x: 0, y: 1},
    title: {text: "A title"},
    xaxis: {title: {text: "time [s]"}, automargin: true},
    yaxis: {title: {text: "speed [km/h]"}},
    annotations: [{x: 2, y: 14, text: "here", showarrow: true, arrowhead: 2}],
    shapes: [{type: "rect", x0: 1.5, x1: 2.5, y0: 10, y1: 12, fillcolor: "#eee", line: {width: 0}}],
  },
  widthPx: 720,
  heightPx: 400,
};

const BOX: PictureRequest = {
  data: [{y: [1, 2, 3, 4, 9], type: "box", name: "arm"}],
  layout: {},
  widthPx: 400,
  heightPx: 300,
};

function parsed(svg: string): Document {
  return new JSDOM(svg, {contentType: "image/svg+xml"}).window.document;
}

describe("openPainter", () => {
  let painter: Painter;
  let svg: string;

  beforeAll(async () => {
    painter = openPainter();
    svg = await painter.svg(SCATTER);
  });
  afterAll(() => painter.close());

  it("draws lines, points, error bars, tick labels, titles, legend and annotation", () => {
    const document = parsed(svg);
    const texts = [...document.querySelectorAll("text")].map(text => text.textContent);
    for (const text of ["A title", "time [s]", "speed [km/h]", "first", "second", "here", "1.5", "12"]) {
      assert.ok(texts.includes(text), `"${text}" is not in the picture, only ${texts.join(" | ")}`);
    }
    assert.equal(document.querySelectorAll(".scatterlayer .lines path").length, 1);
    assert.equal(document.querySelectorAll(".scatterlayer path.point").length, 6);
    assert.equal(document.querySelectorAll("path.yerror").length, 3);
    assert.equal(document.querySelectorAll(".annotation-arrow-g path").length > 0, true);
    assert.equal(document.documentElement.getAttribute("width"), "720");
  });

  it("puts points where their values say", () => {
    // By hand: x = 1, 2, 3 is equally spaced, so the middle point lies midway between the others.
    const xs = [...parsed(svg).querySelectorAll(".scatterlayer .trace:first-child path.point")].map(point =>
      Number(/translate\(([-\d.]+)/.exec(point.getAttribute("transform")!)![1]),
    );
    assert.ok(xs[0]! < xs[1]! && Math.abs((xs[0]! + xs[2]!) / 2 - xs[1]!) < 0.02, xs.join(", "));
  });

  it("keeps the title of an upright axis clear of its tick labels", () => {
    const document = parsed(svg);
    const title = document.querySelector("text.ytitle")!;
    const shift = Number(
      /translate\(([-\d.]+)/.exec(title.parentElement!.getAttribute("transform") ?? "")?.[1] ?? 0,
    );
    const labelEnd = Number(document.querySelector(".ytick text")!.getAttribute("x"));
    // two digits of 12 px are 15 px wide; half of the title's own line is 7 px
    assert.ok(Number(title.getAttribute("x")) + shift + 7 < labelEnd - 15);
  });

  it("makes room for tick labels once, and leaves the rest to the plot", () => {
    // 720 px less Plotly's default margins of 80 px on both sides; labels of two digits need less than that
    const plot = parsed(svg).querySelector("clipPath.plotclip rect")!;
    assert.equal(Number(plot.getAttribute("width")), 560);
  });

  it("gives the same bytes again, after other figures and from another window", async () => {
    await painter.svg(BOX);
    assert.equal(await painter.svg(SCATTER), svg);
    const other = openPainter();
    await other.svg(BOX);
    assert.equal(await other.svg(SCATTER), svg);
    other.close();
  });

  it("draws a box plot as a box, not as points", async () => {
    assert.equal(parsed(await painter.svg(BOX)).querySelectorAll("path.box").length, 1);
  });

  it("leaves no style attribute that an attribute could carry, and nothing to load", () => {
    const styles = [...svg.matchAll(/ style="([^"]*)"/g)].map(match => match[1]);
    for (const style of styles) assert.doesNotMatch(style!, /\b(fill|stroke|font|opacity)/);
    const addresses = [...svg.matchAll(/https?:\/\/[^"' )]+/g)].map(match => match[0]);
    for (const address of addresses) assert.match(address, /^http:\/\/www\.w3\.org\//);
    assert.doesNotMatch(svg, /NaN|undefined/);
  });

  it("says which trace cannot be drawn without a browser", async () => {
    const heatmap = {...BOX, data: [{z: [[1]], type: "heatmap"}]};
    await assert.rejects(painter.svg(heatmap), /a "heatmap" trace cannot be drawn without a browser/);
    assert.match(await painter.svg(BOX), /^<svg/);
  });
});

describe("styleToAttributes", () => {
  it("moves what SVG knows, drops what only a live page needs, keeps the rest", () => {
    assert.equal(
      styleToAttributes(
        '<text style="font-size: 12px; white-space: pre; fill: rgb(1, 2, 3); mix-blend-mode: screen;">',
      ),
      '<text font-size="12" fill="rgb(1, 2, 3)" style="mix-blend-mode: screen">',
    );
  });
});
