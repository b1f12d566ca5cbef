import assert from "node:assert/strict";
import fc from "fast-check";
import {describe, it} from "vitest";
import {
  canonicalJson,
  fixedOf,
  planLock,
  readSealKey,
  type SealKey,
  sealCommitment,
  sha256Text,
} from "../../lib/trial/seal.ts";

const KEY: SealKey = {
  format: "fairpull.seal/1",
  salt: "0f".repeat(32),
  letters: {A: "changed", B: "baseline"},
  locked: `sha256:${"ab".repeat(32)}`,
};

describe("sha256Text", () => {
  it.each([
    // NIST, Secure Hash Standard, examples for SHA-256 (csrc.nist.gov, FIPS 180), and of the empty message.
    ["", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"],
    ["abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"],
    [
      "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
      "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ],
  ])("matches the published vector of %j", (text, digest) => {
    assert.equal(sha256Text(text), `sha256:${digest}`);
  });
});

describe("canonicalJson", () => {
  it("sorts keys by code units and keeps lists, as RFC 8785 does", () => {
    // RFC 8785, section 3.2.3: the sorted form of its example, without the key that is escaped differently.
    const value = {
      "\u20ac": "Euro Sign",
      "\r": "Carriage Return",
      "1": "One",
      "\u0080": "Control",
      "\u00f6": "Latin",
    };
    assert.deepEqual(Object.keys(JSON.parse(canonicalJson(value))), [
      "1",
      "\r",
      "\u0080",
      "\u00f6",
      "\u20ac",
    ]);
    assert.equal(
      canonicalJson({b: [3, 1, {d: null, c: true}], a: 1e21}),
      '{"a":1e+21,"b":[3,1,{"c":true,"d":null}]}',
    );
  });
  it("is one text for one value, whatever the order of its keys", () => {
    fc.assert(
      fc.property(fc.jsonValue(), value => {
        const text = canonicalJson(value);
        assert.equal(canonicalJson(JSON.parse(text)), text);
        assert.equal(canonicalJson(reversed(value)), text);
      }),
      {numRuns: 200, seed: 4},
    );
  });
  it("refuses what JSON cannot hold", () => {
    assert.throws(() => canonicalJson({a: Number.NaN}), /no place in JSON/);
  });
});

describe("planLock", () => {
  const written = {
    question: "q",
    primary: "band-time",
    worthwhile: "0.15 s",
    band: {from: "60 km/h", to: "110 km/h"},
    arms: {baseline: "a", changed: "b"},
    runs: [],
  };
  const plan = {order: "pairs", runs: 8};
  it("does not count its own text, and counts everything else", () => {
    const lock = planLock(fixedOf(written), plan);
    assert.equal(planLock(fixedOf({...written, runs: [1]}), {...plan, locked: lock}), lock);
    for (const [key, value] of [
      ["question", "r"],
      ["worthwhile", "0.2 s"],
      ["band", {from: "60 km/h", to: "100 km/h"}],
    ] as const) {
      assert.notEqual(planLock(fixedOf({...written, [key]: value}), plan), lock);
    }
    assert.notEqual(planLock(fixedOf(written), {...plan, runs: 12}), lock);
  });
});

describe("sealCommitment", () => {
  it("differs with letters, salt and plan", () => {
    const own = sealCommitment(KEY);
    assert.match(own, /^sha256:[0-9a-f]{64}$/);
    assert.notEqual(sealCommitment({...KEY, letters: {A: "baseline", B: "changed"}}), own);
    assert.notEqual(sealCommitment({...KEY, salt: "0e".repeat(32)}), own);
    assert.notEqual(sealCommitment({...KEY, locked: sha256Text("")}), own);
  });
});

describe("readSealKey", () => {
  it("reads what was written and says what is wrong with anything else", () => {
    assert.deepEqual(readSealKey(JSON.stringify(KEY)), KEY);
    assert.equal(readSealKey("{"), "it is not JSON");
    assert.match(String(readSealKey("null")), /it is no key/);
    assert.match(String(readSealKey(JSON.stringify({...KEY, salt: "12"}))), /64 hexadecimal/);
    assert.match(
      String(readSealKey(JSON.stringify({...KEY, letters: {A: "changed", B: "changed"}}))),
      /two arms/,
    );
  });
  it("never throws", () => {
    fc.assert(
      fc.property(fc.oneof(fc.string(), fc.json()), text => {
        assert.equal(typeof readSealKey(text), "string");
      }),
      {numRuns: 200, seed: 6},
    );
  });
});

function reversed(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(reversed);
  if (typeof value !== "object" || value === null) return value;
  return Object.fromEntries(
    Object.entries(value)
      .reverse()
      .map(([key, held]) => [key, reversed(held)]),
  );
}
