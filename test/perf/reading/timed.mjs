/**
 * Loads a file several times in this process and prints, as JSON, the seconds of each and the peak of resident memory after
 * the first [bytes]. Starting the process is not part of it.
 *
 * @param {(file: string) => Promise<ArrayLike<number>[]> | ArrayLike<number>[] | Promise<[number, number]>} load
 *   columns of numbers, or [rows, columns] where they stay in the library's own memory
 */
export async function timed(load) {
  const [file, loads] = [process.argv[2], Number(process.argv[3])];
  /** @type {number[]} */
  const seconds = [];
  let peak = 0;
  /** @type {unknown} */
  let shape = [];
  for (let k = 0; k < loads; k++) {
    const start = performance.now();
    const loaded = await load(file);
    seconds.push((performance.now() - start) / 1000);
    peak ||= process.resourceUsage().maxRSS * 1024;
    shape = typeof loaded[0] === "number" ? loaded : [loaded[0].length, loaded.length];
  }
  process.stdout.write(JSON.stringify({seconds, peak, shape}));
}
