import type {ErrorWords} from "./error.ts";

/** What `fairpull kernel install --json` and `fairpull kernel uninstall --json` print. */
export interface KernelDocument {
  format: "fairpull.kernel/1";
  action: "install" | "uninstall";
  /** the kernelspecs that were written or removed */
  kernels: {name: string; folder: string}[];
  error?: ErrorWords;
}

/** One thing that working with notebooks rests on. */
export interface DoctorItem {
  name: string;
  state: "there" | "missing" | "wrong";
  /** true if nothing works without it */
  required: boolean;
  words: string;
  /** what to do, or null where nothing is to be done */
  hint: string | null;
}

/** What `fairpull doctor --json` prints. */
export interface DoctorDocument {
  format: "fairpull.doctor/1";
  items: DoctorItem[];
  error?: ErrorWords;
}
