/**
 * What the rows of step sequencers play as notes: the volts of a row that a pitch follows, from one
 * change or gate to the next, as they are while the control path plays: so resets, offsets and clocks that wander
 * are in it.
 *
 * As for the strokes of a rhythm, the time is that of the edge that is sent: a sequencer answers it later by the
 * shortest pulse that it notices, which is taken off.
 *
 * Where the sequencer's gate is plugged in, a note begins at each gate, and a change of volts without
 * one only ends it; otherwise each change begins a note, and so does the start.
 *
 * Deviation: the notes are the row's own; what is added on the way to the pitch, such as a transposition, a
 * glide or a vibrato, is not in them.
 */

import { sequencerRows } from '../../engine/followers.ts';
import type { Prepared } from '../../engine/prepared.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { type JackRef, jackName, type PatchModule } from '../../patch/patch.ts';

/** An output whose volts are a pitch. */
export interface PitchRow {
  readonly jack: JackRef;
  /** s by which the sequencer answers a clock late. */
  readonly late: number;
  /** The sequencer's gate, where a plug is in it, and the volts from which on it is high. */
  readonly gate?: { readonly jack: JackRef; readonly volts: number };
}

export interface RowNote {
  readonly volts: number;
  /** s. */
  readonly start: number;
  readonly end: number;
}

/** V: smaller changes do not count. */
const SAME = 1e-6;
/** A gain that leaves a pitch a pitch, to a cent in an octave. */
const UNITY = 1 / 1200;

/** Gives the rows of step sequencers that a pitch input follows, in the order of the patch. */
export function pitchRows({ patch, nets, control }: Prepared): readonly PitchRow[] {
  const played = new Set(control.triggers.map(({ module }) => module.name));
  const pitches = new Set(
    nets.nets
      .filter(({ inputs }) => inputs.some(({ jack }) => jack.signal === 'pitch'))
      .flatMap(({ outputs }) => outputs.flatMap(({ module, jack }) => behind(module, jack.name))),
  );

  /** An output, or the outputs whose volts it only passes on. */
  function behind(module: PatchModule, output: string): string[] {
    const seen = new Set<string>();
    const wave = [{ module, output }];
    for (let next = wave.pop(); next !== undefined; next = wave.pop()) {
      const from = next;
      const name = jackName({ module: from.module.name, jack: from.output });
      if (seen.has(name)) continue;
      seen.add(name);
      const inputs = handedOn(from.module, from.output, nets);
      for (const jack of inputs)
        for (const one of nets.at({ module: from.module.name, jack })?.outputs ?? [])
          wave.push({ module: one.module, output: one.jack.name });
    }
    return [...seen];
  }

  return patch.modules
    .filter((module) => sequencerRows(module).length > 0 && played.has(module.name))
    .flatMap(({ name, jacks }): PitchRow[] => {
      const gates = jacks.find((jack) => jack.direction === 'out' && jack.signal === 'gate');
      const facts = gates?.direction === 'out' ? gates.facts : undefined;
      const gate = { module: name, jack: gates?.name ?? '' };
      const clock = jacks.find((jack) => jack.name === 'clock');
      const late = (clock?.direction === 'in' && clock.facts.trigger?.shortest) || 0;
      const isGated = (nets.at(gate)?.inputs.length ?? 0) > 0;
      return jacks
        .filter(({ direction, ...jack }) => direction === 'out' && 'signal' in jack)
        .filter((jack) => pitches.has(jackName({ module: name, jack: jack.name })))
        .map((jack) => ({
          jack: { module: name, jack: jack.name },
          late,
          ...(isGated &&
            facts?.type === 'voltage' && {
              gate: { jack: gate, volts: (facts.low + facts.high) / 2 },
            }),
        }));
    });
}

/** Inputs whose volts an output gives as they are. */
function handedOn(
  { definition, settings, name }: PatchModule,
  output: string,
  nets: Prepared['nets'],
): readonly string[] {
  const isDriven = (jack: string) => (nets.at({ module: name, jack })?.outputs.length ?? 0) > 0;
  const passing = definition.passes?.(settings, isDriven) ?? [];
  return passing
    .filter((one) => one.output === output)
    .flatMap(({ terms }) => terms)
    .filter(({ gain }) => Math.abs(gain - 1) < UNITY)
    .map(({ input }) => input);
}

/** Makes notes of the volts of a row, and of its gate where it has one. */
export class RowMeter {
  readonly notes: RowNote[] = [];

  private readonly row: PitchRow;
  private readonly until: number;
  private wasHigh = false;
  private now = Number.NaN;
  private note: { readonly volts: number; readonly start: number } | undefined;

  /** @param until s at which it ends, together with the note that is on. */
  constructor(row: PitchRow, until: number) {
    this.row = row;
    this.until = until;
  }

  /**
   * @param volts of the row, from sample `from` on; the first `count` count.
   * @param gate the volts of its gate, where it has one.
   */
  read(volts: Float64Array, gate: Float64Array | undefined, from: number, count: number): void {
    const high = this.row.gate?.volts ?? Number.POSITIVE_INFINITY;
    for (let i = 0; i < count; i++) {
      const isHigh = gate !== undefined && (gate[i] as number) >= high;
      const rises = isHigh && !this.wasHigh;
      this.wasHigh = isHigh;
      const v = volts[i] as number;
      const changes = !(Math.abs(v - this.now) <= SAME);
      if (!rises && !changes) continue;
      this.now = v;
      const time = (from + i) / USUAL_RATE;
      this.end(time);
      if (rises || gate === undefined) this.note = { volts: v, start: time };
    }
  }

  /** Ends the note that is on, if one is. */
  end(time = this.until): void {
    const { note, until } = this;
    const { late } = this.row;
    if (note !== undefined && time > note.start)
      this.notes.push({
        volts: note.volts,
        start: Math.max(0, note.start - late),
        end: time < until ? Math.max(0, time - late) : time,
      });
    this.note = undefined;
  }
}
