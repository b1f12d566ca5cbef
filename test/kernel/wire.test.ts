import assert from "node:assert/strict";
import {mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import path from "node:path";
import fc from "fast-check";
import {afterAll, describe, it} from "vitest";
import {readConnection} from "../../lib/kernel/jupyter/connection.ts";
import {codePointsFromUnits, unitsFromCodePoints} from "../../lib/kernel/jupyter/help.ts";
import {readMessage, writeMessage} from "../../lib/kernel/jupyter/wire.ts";

const KEY = "a key";
const buffers = (frames: readonly (Buffer | string)[]) => frames.map(frame => Buffer.from(frame as string));

describe("messages", () => {
  it("are read as they were written, with their routing frames", () => {
    fc.assert(
      fc.property(
        fc.dictionary(fc.string(), fc.jsonValue()),
        fc.array(fc.uint8Array({maxLength: 5})),
        (content, ids) => {
          const identities = ids.map(id => Buffer.from(id));
          const frames = writeMessage({type: "t", content, parent: null, session: "s"}, identities, KEY);
          const read = readMessage(buffers(frames), KEY);
          assert.deepEqual(read.identities, identities);
          assert.equal(read.header.msg_type, "t");
          assert.equal(JSON.stringify(read.content), JSON.stringify(content));
        },
      ),
      {numRuns: 200},
    );
  });

  it("are refused with one bit changed, a frame missing, or another key", () => {
    const whole = buffers(writeMessage({type: "t", content: {a: 1}, parent: null, session: "s"}, [], KEY));
    assert.throws(() => readMessage(whole, "another"), /signature that does not belong/);
    fc.assert(
      fc.property(fc.nat(5), fc.nat(10_000), fc.nat(7), (frame, place, bit) => {
        const changed = whole.map(part => Buffer.from(part));
        const at = changed[frame]!;
        at[place % at.length]! ^= 1 << bit;
        try {
          readMessage(changed, KEY);
        } catch (error) {
          assert.match(
            (error as Error).message,
            /signature that does not belong|none of the Jupyter protocol/,
          );
          return;
        }
        // hexadecimal digits mean the same in capitals: then nothing was changed
        assert.equal(changed[1]!.toString().toLowerCase(), whole[1]!.toString());
      }),
      {numRuns: 500},
    );
    for (let count = 0; count < whole.length; count++)
      assert.throws(() => readMessage(whole.slice(0, count), KEY), /is none of the Jupyter protocol/);
  });

  it("never pass as noise", () => {
    fc.assert(
      fc.property(fc.array(fc.uint8Array({maxLength: 40}), {maxLength: 8}), frames => {
        assert.throws(
          () =>
            readMessage(
              frames.map(frame => Buffer.from(frame)),
              KEY,
            ),
          Error,
        );
      }),
      {numRuns: 200},
    );
  });
});

describe("readConnection", () => {
  const folder = mkdtempSync(path.join(tmpdir(), "connection "));
  afterAll(() => rmSync(folder, {recursive: true}));
  const PORTS = {shell_port: 1, control_port: 2, stdin_port: 3, iopub_port: 4, hb_port: 5};
  function read(given: object) {
    const file = path.join(folder, "connection.json");
    writeFileSync(file, JSON.stringify({key: KEY, ip: "127.0.0.1", transport: "tcp", ...PORTS, ...given}));
    return readConnection(file);
  }

  it("gives the addresses of the channels", () => {
    assert.equal(read({}).address.iopub, "tcp://127.0.0.1:4");
    assert.equal(read({ip: "::1"}).address.hb, "tcp://[::1]:5");
    assert.equal(read({transport: "ipc", ip: "/tmp/socket"}).address.shell, "ipc:///tmp/socket-1");
  });

  it("refuses what others could reach or use", () => {
    for (const ip of ["0.0.0.0", "192.168.1.5", "*", "example.org", "::"])
      assert.throws(() => read({ip}), {name: "InputError", message: /can be reached from other machines/});
    for (const key of ["", undefined, 5])
      assert.throws(() => read({key}), {
        name: "InputError",
        message: /has no key, so anybody could run code/,
      });
    assert.throws(() => read({signature_scheme: "hmac-md5"}), /only hmac-sha256 is known/);
    assert.throws(() => read({hb_port: "5"}), /hb_port is "5", not a number/);
    assert.throws(() => readConnection(path.join(folder, "none.json")), /cannot be read, ENOENT/);
  });
});

describe("cursor positions", () => {
  it("count code points outside and UTF-16 units inside, there and back", () => {
    assert.equal(unitsFromCodePoints("a😀b", 2), 3);
    assert.equal(codePointsFromUnits("a😀b", 3), 2);
    fc.assert(
      fc.property(fc.string({unit: "binary", maxLength: 40}), fc.nat(50), (text, place) => {
        const points = Math.min(place, Array.from(text).length);
        assert.equal(codePointsFromUnits(text, unitsFromCodePoints(text, points)), points);
      }),
      {numRuns: 100},
    );
  });
});
