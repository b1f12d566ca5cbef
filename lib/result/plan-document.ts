import type {ErrorWords} from "./error.ts";
import type {OrderName} from "./session.ts";

/** What one order offers at one number of runs. */
export interface PlanChoiceRecord {
  order: OrderName;
  runs: number;
  /** orders that the lot may draw, null where they cannot be dealt or counted */
  orders: number | null;
  /** smallest p that exchanging labels can reach */
  floor: number | null;
  /** true difference shown with the chance asked for, in the unit of `spread` */
  shows: number | null;
  /** why it is not offered, or null */
  problem: string | null;
}

/** One line of what a day costs, and where its figure is from. */
export interface BudgetRecord {
  what: string;
  value: number;
  unit: string;
  source: string;
}

/** What `fairpull plan --json` prints. */
export interface PlanDocument {
  format: "fairpull.plan/1";
  session: string;
  question: string | null;
  /** the plan as the session has it now; null where none could be made */
  plan: {
    order: OrderName;
    runs: number;
    seed: number | null;
    looks: number;
    ways: "one" | "both";
    refit: boolean;
    most_changes: number | null;
    locked: string | null;
    /** arm is a letter where the labels are sealed */
    schedule: {run: number; arm: string; direction: "out" | "back"}[];
    changes: number;
  } | null;
  choices: PlanChoiceRecord[];
  spread: {value: number; unit: string; source: string} | null;
  power: {
    chance: number;
    level: number;
    /** true difference shown with that chance, in `unit` */
    shows: number | null;
    unit: string;
    /** the worthwhile difference in that unit, null where it cannot be told without a band time */
    worthwhile: number | null;
    /** runs of this order that show the worthwhile difference with that chance; null = more than a day holds, or not known */
    runs_needed: number | null;
    words: string;
  } | null;
  budget: BudgetRecord[];
  cautions: string[];
  seal: {commitment: string; key: string | null} | null;
  /** run sheet that was written, or null */
  sheet: string | null;
  /** whether the plan was written into the session now */
  written: boolean;
  error?: ErrorWords;
}
