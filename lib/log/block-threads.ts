import {Worker} from "node:worker_threads";
import {blockParser} from "./block-parser.ts";
import {type Places, type RowKernel, SLOTS} from "./row-memory.ts";
import type {ByteSource} from "./source.ts";

/** Numbers that threads share: the next block that nobody has, the blocks taken in, then the state of each slot. */
const [NEXT, DONE, STATES] = [0, 1, 2];

/** Blocks as several threads parse them. */
export interface BlockThreads {
  slotOf(block: number): number;
  /** Waits until a block is parsed, in its slot, and parses others meanwhile; false where a thread failed on it. */
  wait(block: number): boolean;
  /** The block is taken in: its slot may be used again. */
  done(block: number): void;
  /** No more blocks are wanted. */
  stop(): void;
}

/** Starts threads that parse blocks. Each takes the next block that nobody has, so one that never starts does no harm. */
export function startBlockThreads(
  count: number,
  {module, memory}: RowKernel,
  places: Places,
  place: NonNullable<ByteSource["place"]>,
  blocks: number,
  parse: (block: number, slot: number) => boolean,
): BlockThreads {
  const control = new Int32Array(new SharedArrayBuffer(4 * (STATES + SLOTS)));
  const code = `const {module, memory, places, place, control, blocks, slots} = require("node:worker_threads").workerData;
    const {readSync} = require("node:fs");
    const {exports} = new WebAssembly.Instance(module, {env: {memory}});
    const read = (into, at) => readSync(place.descriptor, into, 0, into.length, place.base + at);
    (${parseBlocks})((${blockParser})(exports.parseRows, memory.buffer, places, read), control, blocks, slots);`;
  const workerData = {module, memory, places, place, control, blocks, slots: SLOTS};
  for (let k = 0; k < count; k++) new Worker(code, {eval: true, execArgv: [], workerData}).unref();
  const slotOf = (block: number) => block % SLOTS;
  return {
    slotOf,
    wait(block) {
      const at = STATES + slotOf(block);
      for (;;) {
        const state = Atomics.load(control, at);
        if (Math.abs(state) === block + 1) return state > 0;
        const next = Atomics.load(control, NEXT);
        if (next >= blocks || next >= block + SLOTS) {
          Atomics.wait(control, at, state);
        } else if (Atomics.compareExchange(control, NEXT, next, next + 1) === next) {
          Atomics.store(control, STATES + slotOf(next), parse(next, slotOf(next)) ? next + 1 : -next - 1);
        }
      }
    },
    done(block) {
      Atomics.store(control, DONE, block + 1);
      Atomics.notify(control, DONE);
    },
    stop() {
      Atomics.store(control, NEXT, blocks);
      Atomics.store(control, DONE, blocks);
      Atomics.notify(control, DONE);
    },
  };
}

/** What a thread does. It gets this as text: nothing is used that is not handed to it. */
function parseBlocks(
  parse: (block: number, slot: number) => boolean,
  control: Int32Array,
  blocks: number,
  slots: number,
): void {
  for (;;) {
    const block = Atomics.add(control, 0, 1);
    if (block >= blocks) return;
    for (let done = Atomics.load(control, 1); done + slots <= block; done = Atomics.load(control, 1)) {
      Atomics.wait(control, 1, done);
    }
    let parsed = false;
    try {
      parsed = parse(block, block % slots);
    } catch {
      // this thread cannot read the file: the one that waits tries itself and says why
    }
    const state = 2 + (block % slots);
    Atomics.store(control, state, parsed ? block + 1 : -block - 1);
    Atomics.notify(control, state);
  }
}
