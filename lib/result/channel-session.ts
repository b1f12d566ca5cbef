import type {Session} from "./session.ts";

/** What a curve runs over: engine speed [r/min] or road speed [m/s]. */
export type ChannelAxis = "engine-speed" | "speed";

/** How a log writes spark that was taken out because of knock. */
export type KnockSign = "pulled negative" | "pulled positive";

/** What a session of `test: channels` says beside what a comparison says. */
export interface ChannelSettings {
  /** field's word for the channel asked about, or the header of its column */
  primary: string;
  axis: ChannelAxis;
  /** null where the session does not say; then corrections for knock are left out */
  knockSign: KnockSign | null;
  /** power gained for one degree more spark [1/deg], share of the power, with its standard uncertainty; null where the session gives none */
  slope: {perDegree: number; perDegreeU: number} | null;
  /** engine log of each run, in the order of `runs`; null = its channels are in the run's own log */
  engine: readonly (string | null)[];
}

/** A session of `test: channels`: the runs of a comparison, asked what the engine's channels did. */
export interface ChannelSession extends Session {
  test: "channels";
  channels: ChannelSettings;
}
