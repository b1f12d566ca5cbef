import {readFileSync} from "node:fs";

/** One row of outside values: see `source` and `status` for where it comes from and how it was verified. */
export interface ReferenceRow {
  id: string;
  // biome-ignore lint/suspicious/noExplicitAny: rows differ in shape; a wrong key fails the test that reads it
  inputs: any;
  // biome-ignore lint/suspicious/noExplicitAny: as above
  expected: any;
  source: string;
  status: string;
}

interface ReferenceFile {
  // biome-ignore lint/suspicious/noExplicitAny: data sets differ in shape
  datasets: Record<string, any>;
  rows: ReferenceRow[];
}

/** Reads `test/reference/<topic>.json`. */
export function reference(topic: string): {
  row(id: string): ReferenceRow;
  datasets: ReferenceFile["datasets"];
} {
  const file = new URL(`reference/${topic}.json`, import.meta.url);
  const {rows, datasets} = JSON.parse(readFileSync(file, "utf8")) as ReferenceFile;
  return {
    datasets,
    row(id) {
      const found = rows.find(row => row.id === id);
      if (!found) throw new Error(`test/reference/${topic}.json has no row ${id}`);
      return found;
    },
  };
}
