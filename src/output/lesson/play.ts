/** Plays the stages of a lesson into memory: one stroke of a voice, or some bars of the whole. */

import { type Prepared, prepared } from '../../engine/prepared.ts';
import { render } from '../../engine/render.ts';
import { BLOCK, Renderer } from '../../engine/renderer.ts';
import type { Edge } from '../../modules/definition.ts';
import type { JackRef, Patch, PatchModule } from '../../patch/patch.ts';
import { edgesOf } from '../../timing/edges.ts';

export interface StagePlayOptions {
  /** Hz. */
  readonly sampleRate: number;
  readonly bars: number;
}

/** Silence before a stroke, s: so that a picture shows its front. */
const LEAD = 0.05;
/** A sound that goes on is cut here, s, and one that dies away at the latest there. */
const STEADY = 2;
const LONGEST = 6;
/** The end of a cut sound fades for so long, s. */
const FADE = 0.02;
/** Under this share of its peak (-60 dB), or these volts, a stroke has died away; after so long, s. */
const SILENT_SHARE = 0.001;
const SILENT_VOLTS = 0.0003;
const SILENT_FOR = 0.1;
const SHORTEST = 0.6;
/** A voice's first stroke is looked for this far, s. */
const SOUGHT = 60;

/**
 * Plays one stroke of a voice: the first that its channel plays, with that stroke's accent, all else being
 * still. Modules that no stroke starts play on as they are.
 * @param strokes the outputs that start the voice, as `module.jack`.
 * @returns volts at the jack.
 */
export function playStroke(
  of: Patch | Prepared,
  jack: JackRef,
  strokes: ReadonlySet<string>,
  { sampleRate }: StagePlayOptions,
): Float64Array {
  const all = prepared(of);
  const renderer = new Renderer(all, {
    sampleRate,
    probes: [jack],
    edgesOf: (module) => strokeEdges(module, all.patch.seed, strokes, sampleRate),
  });
  const volts = renderer.probes[0] as Float64Array;
  const longest = Math.round(LONGEST * sampleRate);
  const steady = Math.round(STEADY * sampleRate);
  const samples = new Float64Array(longest);
  let peak = 0;
  let quiet = 0;
  let length = 0;
  for (; length < longest && !(length > steady && quiet === 0 && isSteady(samples, length)); ) {
    renderer.next();
    const count = Math.min(BLOCK, longest - length);
    samples.set(volts.subarray(0, count), length);
    length += count;
    const most = volts.reduce((a, b) => Math.max(a, Math.abs(b)), 0);
    peak = Math.max(peak, most);
    quiet = most < Math.max(SILENT_VOLTS, peak * SILENT_SHARE) ? quiet + count : 0;
    if (quiet > SILENT_FOR * sampleRate && length > SHORTEST * sampleRate) break;
  }
  return samples.slice(0, length);
}

/** Whether the last half second is as loud as the one a second before: nothing dies away there. */
function isSteady(samples: Float64Array, length: number): boolean {
  const half = Math.floor(length / 4);
  const last = power(samples, length - half, length);
  return last > 0.7 * power(samples, length - 3 * half, length - 2 * half);
}

function power(samples: Float64Array, from: number, to: number): number {
  let sum = 0;
  for (let n = from; n < to; n++) sum += (samples[n] as number) ** 2;
  return sum;
}

/** Fades the end of a sound out, so that one that was cut does not click. */
export function faded(samples: Float64Array, sampleRate: number): Float64Array {
  const count = Math.min(samples.length, Math.round(FADE * sampleRate));
  for (let n = 0; n < count; n++) {
    const at = samples.length - 1 - n;
    samples[at] = ((samples[at] as number) * n) / count;
  }
  return samples;
}

/** The edges of one stroke, or the score as it is if no stroke of it starts the voice. */
function strokeEdges(
  module: PatchModule,
  seed: string,
  strokes: ReadonlySet<string>,
  sampleRate: number,
): () => Edge | undefined {
  const score = edgesOf(module, { sampleRate, seed, until: SOUGHT });
  const outputs = module.jacks.filter((jack) => jack.direction === 'out');
  const isStroke = outputs.map(({ name }) => strokes.has(`${module.name}.${name}`));
  if (!isStroke.includes(true)) return strokes.size === 0 ? score : () => undefined;

  const levels = new Map<number, Edge>();
  let rise: Edge | undefined;
  let fall: Edge | undefined;
  for (let edge = score(); edge !== undefined && fall === undefined; edge = score()) {
    if (isStroke[edge.output] !== true) {
      if (rise === undefined || edge.sample <= rise.sample) levels.set(edge.output, edge);
    } else if (rise === undefined) {
      if (edge.volts > 0) rise = edge;
    } else if (edge.output === rise.output) fall = edge;
  }
  if (rise === undefined) return () => undefined;
  const start = Math.round(LEAD * sampleRate);
  const length = (fall?.sample ?? rise.sample + start) - rise.sample;
  const accents = [...levels.values()].filter(({ output }) => isAccent(outputs[output]?.signal));
  const played: Edge[] = [
    ...accents.map(({ output, volts }) => ({ output, volts, sample: 0 })),
    { ...rise, sample: start },
    { output: rise.output, volts: fall?.volts ?? 0, sample: start + length },
  ];
  let next = 0;
  return () => played[next++];
}

function isAccent(signal: string | undefined): boolean {
  return signal === 'control' || signal === 'pitch';
}

/**
 * Plays bars of the patch until the sound has died away.
 * @param jack where to listen; the output's channels if none is given, 1 being full scale.
 * @returns volts at the jack, or the channels.
 */
export function playBars(
  of: Patch | Prepared,
  jack: JackRef | undefined,
  { sampleRate, bars }: StagePlayOptions,
): readonly Float64Array[] {
  const { channels, probes } = render(of, {
    sampleRate,
    length: { unit: 'bars', value: bars },
    probes: jack === undefined ? [] : [jack],
  });
  return jack === undefined ? channels : probes;
}
