import assert from "node:assert/strict";
import {readFileSync} from "node:fs";
import fc from "fast-check";
import geographiclib from "geographiclib-geodesic";
import {describe, it} from "vitest";
import {geodesic, greatCircleM} from "../../lib/log/geodesic.ts";
import {assertClose} from "../assert-close.ts";

// Rows B10: worked example of the GDA technical manual, GeographicLib (npm geographiclib-geodesic 2.2.0), haversine formula.
const {rows} = JSON.parse(readFileSync(new URL("../reference/geodesic.json", import.meta.url), "utf8"));
const row = (id: string) => rows.find((candidate: {id: string}) => candidate.id === id);
type Points = [number, number, number, number];

describe("geodesic", () => {
  it("meets the worked example of the Australian datum, on its ellipsoid", () => {
    const {inputs, expected, tolerance} = row("B10-flinders");
    const GRS80 = {equatorialRadiusM: 6_378_137, flattening: 1 / 298.257_222_101};
    const {from, to} = inputs;
    const line = geodesic(from.lat, from.lon, to.lat, to.lon, GRS80)!;
    assertClose(line.distanceM, expected.distance_m, tolerance.distance);
    assertClose(line.azimuthDeg, expected.azimuth_12_deg, tolerance.azimuth_deg);
    assertClose(line.backAzimuthDeg, expected.azimuth_21_deg, tolerance.azimuth_deg);
    assertClose(line.distanceM, expected.full_digits.distance_m, 1e-6);
  });
  it("meets GeographicLib on WGS 84", () => {
    for (const {p, s_m, azi1} of row("B10-geodesic").cases) {
      const line = geodesic(...(p as Points))!;
      // The series ends at the third power of the flattening: 1 µm below 130 km, 0.1 mm for the three that are longer
      assertClose(line.distanceM, s_m, s_m < 130_000 ? 1e-6 : 1e-4, String(p));
      assertClose(line.azimuthDeg, azi1, s_m < 130_000 ? 1e-8 : 1e-7, String(p));
    }
  });
  it("stays within 1 µm of GeographicLib up to 100 km, anywhere", () => {
    const wgs84 = geographiclib.Geodesic.WGS84;
    const lineFrom = fc.record({
      latitude: fc.double({min: -90, max: 90, noNaN: true}),
      longitude: fc.double({min: -180, max: 180, noNaN: true}),
      azimuth: fc.double({min: 0, max: 360, noNaN: true}),
      logDistance: fc.double({min: -2, max: 5, noNaN: true}),
    });
    fc.assert(
      fc.property(lineFrom, ({latitude, longitude, azimuth, logDistance}) => {
        const {lat2, lon2} = wgs84.Direct(latitude, longitude, azimuth, 10 ** logDistance);
        const {s12} = wgs84.Inverse(latitude, longitude, lat2!, lon2!);
        assertClose(geodesic(latitude, longitude, lat2!, lon2!)!.distanceM, s12!, 1e-6);
      }),
      {seed: 3, numRuns: 500},
    );
  });
  it("crosses the date line, is zero between equal points and gives up on opposite ones", () => {
    // one degree of the equator, row B10-geodesic
    assertClose(geodesic(0, 179.5, 0, -179.5)!.distanceM, 111319.49079327357, 1e-6);
    assert.deepEqual(geodesic(12, 34, 12, 34), {distanceM: 0, azimuthDeg: 0, backAzimuthDeg: 0});
    assert.equal(geodesic(0, 0, 0.2, 179.9), null);
  });
  it("refuses a latitude beyond the pole", () => {
    assert.throws(() => geodesic(97, 0, 0, 0), {
      name: "RangeError",
      message: /latitude within ±90°.* found 97°/,
    });
  });
});

describe("greatCircleM", () => {
  it("meets the haversine formula", () => {
    const {cases, tolerance} = row("B10-haversine");
    for (const {p, R, s_m} of cases)
      assertClose(greatCircleM(...(p as Points), R), s_m, {rel: tolerance.rel * 10}, String(p)); // short arcs: 1e-16 rad of 1e-5
  });
});
