/**
 * What only playing tells of the notes of a MIDI file: the strokes of rhythm sequencers that follow pulses, the
 * pulses that the first of them gets, and the rows of step sequencers. One play of the control path tells all of it.
 *
 * The time of a stroke is that of the pulse that is sent: a follower answers it later by the shortest pulse that it
 * notices, which is taken off.
 */

import type { Happening } from '../../engine/happening.ts';
import type { Prepared } from '../../engine/prepared.ts';
import { BLOCK, Renderer } from '../../engine/renderer.ts';
import { type PathListener, trace } from '../../engine/trace.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { type JackRef, jackName, type PatchModule } from '../../patch/patch.ts';
import type { Stroke } from '../../timing/edges.ts';
import type { Pulse } from '../../timing/pulses.ts';
import { CLOCK_IN, isFollowing, tempoLeaders } from '../../timing/rhythm.ts';
import { type PitchRow, pitchRows, RowMeter, type RowNote } from './row-notes.ts';

export interface HeardNotes {
  /** By module the strokes of its channels, those of each in order; empty where nothing follows. */
  readonly strokes: ReadonlyMap<string, readonly Stroke[]>;
  /** What happened at the `clock-in` of the first rhythm, if that follows. */
  readonly clock: readonly Happening[];
  /** In the order of the patch. */
  readonly rows: readonly HeardRow[];
}

export interface HeardRow {
  readonly row: PitchRow;
  readonly notes: readonly RowNote[];
}

/** Hears the notes while a control path plays at the usual rate, for a score or by itself. */
export class NotesListener implements PathListener {
  readonly probes: readonly JackRef[];
  /** Whether there is anything that only playing tells. */
  readonly isNeeded: boolean;
  /** The `clock-in` at which what happens is wanted; undefined where the first rhythm keeps its own time. */
  readonly clockIn: string | undefined;

  private readonly rows: readonly { readonly row: PitchRow; readonly meter: RowMeter }[];
  private readonly strokes: ReadonlyMap<string, { readonly late: number; readonly all: Stroke[] }>;
  private readonly clock: Happening[] = [];

  /** @param seconds how much is played, from the start of the performance. */
  constructor(of: Prepared, seconds: number) {
    const { patch } = of;
    const followers = patch.modules.filter((module) => isFollowing(patch, module));
    this.strokes = new Map(
      followers.map(({ name, jacks }) => {
        const jack = jacks.find((one) => one.name === CLOCK_IN);
        const late = (jack?.direction === 'in' && jack.facts.trigger?.shortest) || 0;
        return [name, { late, all: [] }];
      }),
    );
    this.rows = pitchRows(of).map((row) => ({ row, meter: new RowMeter(row, seconds) }));
    this.probes = this.rows.flatMap(({ row: { jack, gate } }) =>
      gate === undefined ? [jack] : [jack, gate.jack],
    );
    this.isNeeded = followers.length + this.rows.length > 0;
    const [leader] = tempoLeaders(patch);
    const follows = leader !== undefined && isFollowing(patch, leader);
    this.clockIn = follows ? jackName({ module: leader.name, jack: CLOCK_IN }) : undefined;
  }

  onHappening(happening: Happening): void {
    if (happening.jack === this.clockIn) this.clock.push(happening);
  }

  onStroke({ name }: PatchModule, pulse: Pulse, channel: number): void {
    const { late = 0, all } = this.strokes.get(name) ?? {};
    const time = Math.max(0, pulse.time - late);
    all?.push({ ...pulse, time, endTime: Math.max(time, pulse.endTime - late), channel });
  }

  onVolts(volts: readonly Float64Array[], from: number, count: number): void {
    let used = 0;
    for (const { row, meter } of this.rows) {
      const own = volts[used++] as Float64Array;
      meter.read(own, row.gate && volts[used++], from, count);
    }
  }

  /** What was heard, once all is played. */
  finish(): HeardNotes {
    for (const { meter } of this.rows) meter.end();
    return {
      strokes: new Map([...this.strokes].map(([name, { all }]) => [name, all])),
      clock: this.clock,
      rows: this.rows.map(({ row, meter }) => ({ row, notes: meter.notes })),
    };
  }
}

/** Plays a patch's control path for its notes, unless nothing has to be heard. */
export function heardNotes(of: Prepared, seconds: number): HeardNotes {
  const listener = new NotesListener(of, seconds);
  const play = { sampleRate: USUAL_RATE, seconds };
  if (listener.clockIn !== undefined)
    for (const happening of trace(of, { ...play, listener })) listener.onHappening(happening);
  else if (listener.isNeeded) playAlone(of, listener, play);
  return listener.finish();
}

/** Without pulses to hear, no one listens at the trigger inputs. */
function playAlone(
  of: Prepared,
  listener: NotesListener,
  { sampleRate, seconds }: { readonly sampleRate: number; readonly seconds: number },
): void {
  const renderer = new Renderer(of.path, {
    sampleRate,
    probes: listener.probes,
    until: seconds,
    onStroke: (module, stroke, channel) => listener.onStroke(module, stroke, channel),
  });
  const frames = Math.round(seconds * sampleRate);
  for (let from = 0; from < frames; from += BLOCK) {
    renderer.next();
    listener.onVolts(renderer.probes, from, Math.min(BLOCK, frames - from));
  }
}
