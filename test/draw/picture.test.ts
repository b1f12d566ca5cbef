import assert from "node:assert/strict";
import {inflateSync} from "node:zlib";
import {JSDOM} from "jsdom";
import {afterAll, beforeAll, describe, it} from "vitest";
import {styleToAttributes} from "../../lib/draw/attributes.ts";
import {openPainter, type Painter, type PictureRequest} from "../../lib/draw/picture.ts";
import {openType, pngOf} from "../../lib/draw/png.ts";

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

  it("draws heatmaps: every cell in its colour, at its place", async () => {
    for (const zsmooth of [false, "fast"]) {
      const svg = await painter.svg({
        ...BOX,
        data: [
          {
            type: "heatmap",
            z: [
              [0, 1],
              [0.5, 0.25],
            ],
            colorscale: [
              [0, "#000000"],
              [1, "#ffffff"],
            ],
            zsmooth,
            showscale: false,
          },
        ],
      });
      const png = Buffer.from(/href="data:image\/png;base64,([^"]+)"/.exec(svg)![1]!, "base64");
      const {width, height, red} = pixels(png);
      const at = (across: number, up: number) =>
        red(Math.floor(across * width), Math.floor((1 - up) * height));
      // grey of z = 255 z, by hand; a smoothed one is exact at the outer corners alone
      const share = zsmooth ? 0.001 : 0.25;
      assert.ok(at(share, share) <= 1, `${at(share, share)}`);
      assert.ok(at(0.999 - share, share) >= 254);
      assert.ok(Math.abs(at(share, 0.999 - share) - 127.5) <= 1.5, `${at(share, 0.999 - share)}`);
      assert.ok(Math.abs(at(0.999 - share, 0.999 - share) - 63.75) <= 1.5);
      if (zsmooth) continue;
      const {window} = new JSDOM(svg, {contentType: "image/svg+xml"});
      assert.equal(window.document.querySelectorAll("image").length, 1);
    }
  });

  it("says which trace cannot be drawn without a browser", async () => {
    const gl = {...BOX, data: [{x: [1], y: [1], type: "scattergl"}]};
    await assert.rejects(painter.svg(gl), /a "scattergl" trace cannot be drawn without a browser/);
    assert.match(await painter.svg(BOX), /^<svg/);
  });
});

/** The red channel of a PNG of 8-bit RGBA whose rows are unfiltered. */
function pixels(png: Buffer): {width: number; height: number; red: (x: number, y: number) => number} {
  const [width, height] = [png.readUInt32BE(16), png.readUInt32BE(20)];
  const start = png.indexOf("IDAT");
  const rows = inflateSync(png.subarray(start + 4, start + 4 + png.readUInt32BE(start - 4)));
  return {width, height, red: (x, y) => rows[y * (1 + 4 * width) + 1 + 4 * x]!};
}

describe("pngOf", () => {
  const square = (text: string) =>
    `<svg xmlns="http://www.w3.org/2000/svg" width="40" height="40" font-family="DejaVu Sans"><rect width="40" height="40" fill="#fff"/><text x="5" y="30" font-size="30">${text}</text></svg>`;

  it("draws letters of its own font, also those with dots and the true minus", async () => {
    const blank = Buffer.from(await pngOf(square(""), 1));
    assert.deepEqual([blank.readUInt32BE(16), blank.readUInt32BE(20)], [40, 40]);
    const seen = new Set<string>();
    for (const letter of ["A", "ä", "ß", "é", "−", "±", "–", "·"]) {
      const drawn = Buffer.from(await pngOf(square(letter), 1)).toString("base64");
      assert.notEqual(drawn, blank.toString("base64"), letter);
      seen.add(drawn);
    }
    assert.equal(seen.size, 8); // no two are the same box for a missing letter
  });

  it("gives the same bytes twice", async () => {
    assert.deepEqual(await pngOf(square("A"), 2), await pngOf(square("A"), 2));
  });

  it("refuses what is no WOFF font", () => {
    assert.throws(() => openType(Buffer.from("OTTO")), /this is no WOFF 1\.0 file/);
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
