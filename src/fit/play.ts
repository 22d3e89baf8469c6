/**
 * A patch's hit, played alone: the first hit of a channel, several times over with time to ring between,
 * since no two stretches of noise are alike. The gate has the length and the accent that the pattern
 * gives it. A patch without a rhythm channel is played as it is, and its hits are found in the sound.
 */

import { withoutCountIn } from '../engine/loop.ts';
import { BLOCK, Renderer } from '../engine/renderer.ts';
import type { HitSound } from '../measure/likeness/band-frames.ts';
import { hitOnset } from '../measure/likeness/hit-onset.ts';
import { chosenHit, hitSounds } from '../measure/likeness/hit-spans.ts';
import { monoOf } from '../measure/likeness/mono.ts';
import type { Edge } from '../modules/definition.ts';
import type { Patch, PatchModule } from '../patch/patch.ts';
import { edges } from '../timing/edges.ts';
import { type RhythmSettings, rhythmSettings } from '../timing/rhythm.ts';
import type { VoiceChannel } from './path.ts';
import { FitError } from './settings.ts';

export interface VoicePlayOptions {
  /** Hz. */
  readonly sampleRate: number;
  /** The channel to play; undefined for a patch that is played as it is. */
  readonly channel: VoiceChannel | undefined;
  /** Length of a hit, s. */
  readonly seconds: number;
}

/** Silence after each hit, and before the first where the pattern has it later, s. */
const LEAD = 0.06;
/** The first hit is played where the pattern has it, unless that is later, s. */
const LATEST = 0.25;
/** Where the first hit of a channel is looked for, s. */
const FIRST_WITHIN = 120;
/** A patch that is played as it is plays at least this long, s. */
const AS_IT_IS = 3;

/**
 * Plays hits of a patch.
 * @param count of a channel's hits.
 * @throws FitError if the channel has none.
 */
export function playedHits(
  patch: Patch,
  options: VoicePlayOptions,
  count: number,
): readonly HitSound[] {
  const { channel, sampleRate, seconds } = options;
  if (channel === undefined) return playedAsItIs(patch, options);
  const { stroke, sample } = firstStroke(patch, channel, sampleRate);
  const lead = Math.round(LEAD * sampleRate);
  const spacing = Math.round(seconds * sampleRate) + lead;
  // Noise, and the phases of oscillators, are then those of the hit that is reported on.
  const first = sample > LATEST * sampleRate ? lead : sample;
  const starts = Array.from({ length: count }, (_, index) => first + index * spacing);
  return soundsOf(patch, options, { channel, stroke, starts, spacing });
}

/**
 * Plays the hit that is reported on: the first of the channel, where the pattern has it, so that a
 * render of the patch has the same samples; of a patch without channels, the one that is chosen.
 */
export function reportedHit(patch: Patch, options: VoicePlayOptions): HitSound | undefined {
  const { channel, sampleRate, seconds } = options;
  if (channel === undefined) {
    const hits = playedAsItIs(patch, options);
    return hits[chosenHit(hits)];
  }
  const { stroke, sample } = firstStroke(patch, channel, sampleRate);
  const spacing = Math.round((seconds + LEAD) * sampleRate);
  return soundsOf(patch, options, { channel, stroke, starts: [sample], spacing })[0];
}

function playedAsItIs(patch: Patch, { sampleRate, seconds }: VoicePlayOptions) {
  const samples = played(patch, sampleRate, Math.max(AS_IT_IS, 4 * seconds), undefined);
  return hitSounds(samples, sampleRate);
}

function soundsOf(
  patch: Patch,
  { sampleRate }: VoicePlayOptions,
  strokes: PlayedStrokes,
): readonly HitSound[] {
  const { starts, spacing } = strokes;
  const total = ((starts.at(-1) as number) + spacing) / sampleRate;
  const samples = played(patch, sampleRate, total, strokes);
  return starts.flatMap((start) => {
    const end = start + spacing;
    const onset = hitOnset(samples, { from: start, to: end, sampleRate });
    const isSilent = samples.subarray(start, end).every((value) => value === 0);
    return isSilent ? [] : [{ samples, sampleRate, onset, end, hasEnded: false }];
  });
}

/** The gate and accent that the pattern gives to a hit. */
interface HitStroke {
  /** Samples that the gate is high. */
  readonly length: number;
  readonly volts: number;
  readonly accent: number;
}

interface PlayedStrokes {
  readonly channel: VoiceChannel;
  readonly stroke: HitStroke;
  /** Samples. */
  readonly starts: readonly number[];
  readonly spacing: number;
}

function played(
  given: Patch,
  sampleRate: number,
  seconds: number,
  strokes: PlayedStrokes | undefined,
): Float64Array {
  const patch = withoutCountIn(given);
  const renderer = new Renderer(patch, {
    sampleRate,
    edgesOf: (module) => edgesOf(module, patch.seed, { sampleRate, seconds, strokes }),
  });
  const { channels } = renderer;
  const blocks = Math.ceil((seconds * sampleRate) / BLOCK);
  const kept = channels.map(() => new Float64Array(blocks * BLOCK));
  for (let block = 0; block < blocks; block++) {
    renderer.next();
    kept.forEach((samples, index) => {
      samples.set((channels[index] as Float64Array).subarray(0, BLOCK), block * BLOCK);
    });
  }
  return monoOf({ sampleRate, channels: kept });
}

interface Times {
  readonly sampleRate: number;
  readonly seconds: number;
  readonly strokes: PlayedStrokes | undefined;
}

function edgesOf(module: PatchModule, seed: string, times: Times): () => Edge | undefined {
  const { sampleRate, seconds, strokes } = times;
  const settings = rhythmSettings(module.settings);
  const own = edges(settings, { sampleRate, seed, module: module.name, until: seconds });
  if (strokes === undefined) return own;
  const all = strokes.channel.module === module.name ? edgesFor(strokes, settings) : [];
  // Clock, run and start go on as usual.
  for (let edge = own(); edge !== undefined; edge = own())
    if (edge.output >= 2 * settings.channels.length) all.push(edge);
  all.sort((a, b) => a.sample - b.sample || a.output - b.output);
  let next = 0;
  return () => all[next++];
}

function edgesFor(
  { channel, stroke, starts, spacing }: PlayedStrokes,
  { channels }: RhythmSettings,
): Edge[] {
  const accent = { sample: 0, output: channels.length + channel.index, volts: stroke.accent };
  // A gate that is longer than a hit ends before the next begins.
  const length = Math.max(1, Math.min(stroke.length, Math.round(0.9 * spacing)));
  const gates = starts.flatMap((sample) => [
    { sample, output: channel.index, volts: stroke.volts },
    { sample: sample + length, output: channel.index, volts: 0 },
  ]);
  return stroke.accent === 0 ? gates : [accent, ...gates];
}

function firstStroke(
  given: Patch,
  channel: VoiceChannel,
  sampleRate: number,
): { readonly stroke: HitStroke; readonly sample: number } {
  const patch = withoutCountIn(given);
  const module = patch.modules.find(({ name }) => name === channel.module) as PatchModule;
  const settings = rhythmSettings(module.settings);
  const next = edges(settings, {
    sampleRate,
    seed: patch.seed,
    module: module.name,
    until: FIRST_WITHIN,
  });
  let accent = 0;
  let start: Edge | undefined;
  for (let edge = next(); edge !== undefined; edge = next()) {
    const isAccent = edge.output === settings.channels.length + channel.index;
    if (isAccent && (start === undefined || edge.sample === start.sample)) accent = edge.volts;
    if (edge.output !== channel.index) continue;
    if (edge.volts !== 0) start ??= edge;
    else if (start !== undefined)
      return {
        stroke: { length: edge.sample - start.sample, volts: start.volts, accent },
        sample: start.sample,
      };
  }
  throw new FitError(
    `${patch.file}: the channel ${channel.name} plays no hit. Give it one in the first pattern of the song.`,
  );
}
