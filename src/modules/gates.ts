/** How modules turn gates into gates, in closed form: the kinds' arithmetic on pulses instead of samples. */

/** High, or a switch closed, from its first sample to the one before `end`. */
export interface GatePulse {
  readonly start: number;
  /** Infinity for one that has not ended when the performance or the rehearsal has. */
  readonly end: number;
}

/** How the pulses of one output follow from the gates at some inputs. */
export interface GateLaw<V> {
  /** The inputs that decide its pulses; one without a driver is off. */
  readonly inputs: readonly string[];
  /**
   * Gives the output's pulses from those that the inputs notice, in their order.
   * @param sampleRate Hz, of the pulses' samples.
   * @returns undefined where these are not enough to tell them.
   */
  pulses(
    noticed: readonly (readonly GatePulse[])[],
    values: V,
    sampleRate: number,
  ): readonly GatePulse[] | undefined;
  /** Whether each of its pulses is as long as the one that it comes from. */
  readonly isCopy?: true;
  /** The setting that says how long its pulses are, whatever starts them. */
  readonly lasts?: string;
  /** Whether what comes in at several inputs decides together how long a pulse is. */
  readonly joins?: true;
  /** Whether its pulses are longer where those at an input are shorter. Absent, or undefined: never. */
  turns?(input: string): 'always' | 'at times' | undefined;
  /**
   * Which of the inputs' strokes it is meant to pass on; none while another of its inputs is driven. Absent, or
   * undefined: none are known.
   */
  strokes?(values: V): StrokesPassed | undefined;
}

export interface StrokesPassed {
  readonly from: readonly string[];
  /** How much later, s. */
  readonly late: number;
  /** Whether each stroke gets a pulse of its own, so that two that merged at the input give one pulse. */
  readonly isAnswered: boolean;
}

/** Gives the stretches in which any of the trains is high: several switch closures on a wire. */
export function union(trains: readonly (readonly GatePulse[])[]): readonly GatePulse[] {
  const all = trains.flat().sort((a, b) => a.start - b.start);
  const joined: { start: number; end: number }[] = [];
  for (const { start, end } of all) {
    const last = joined.at(-1);
    // Two that touch leave no low sample between them.
    if (last !== undefined && start <= last.end) last.end = Math.max(last.end, end);
    else joined.push({ start, end });
  }
  return joined;
}

/** The pulses of a timer of fixed length from triggers; a trigger that comes while it is on may restart it. */
export function stretched(
  triggers: readonly GatePulse[],
  length: number,
  retriggers: boolean,
): readonly GatePulse[] {
  const made: { start: number; end: number }[] = [];
  for (const { start } of triggers) {
    const last = made.at(-1);
    if (last === undefined || start > last.end) made.push({ start, end: start + length });
    else if (retriggers || start === last.end) last.end = start + length;
  }
  return made;
}

/** Gives the stretches in which a condition of two gates is true, from sample 0 on. */
export function where(
  a: readonly GatePulse[],
  b: readonly GatePulse[],
  isOn: (inA: boolean, inB: boolean) => boolean,
): readonly GatePulse[] {
  const edges = [...changes(a, 0), ...changes(b, 1)].sort((x, y) => x.sample - y.sample);
  const made: { start: number; end: number }[] = [];
  const on: [boolean, boolean] = [false, false];
  let was = isOn(false, false);
  if (was) made.push({ start: 0, end: Number.POSITIVE_INFINITY });
  for (let i = 0; i < edges.length; ) {
    const { sample } = edges[i] as GateChange;
    for (; edges[i]?.sample === sample; i++) on[edges[i]?.gate as 0 | 1] = edges[i]?.on === true;
    const now = isOn(on[0], on[1]);
    if (now && !was) made.push({ start: sample, end: Number.POSITIVE_INFINITY });
    else if (!now && was) (made.at(-1) as { end: number }).end = sample;
    was = now;
  }
  // A stretch that a change at sample 0 ended has no length.
  return made.filter(({ start, end }) => end > start);
}

interface GateChange {
  readonly sample: number;
  readonly gate: 0 | 1;
  readonly on: boolean;
}

function changes(pulses: readonly GatePulse[], gate: 0 | 1): GateChange[] {
  return pulses.flatMap(({ start, end }) => [
    { sample: start, gate, on: true },
    ...(end < Number.POSITIVE_INFINITY ? [{ sample: end, gate, on: false }] : []),
  ]);
}
