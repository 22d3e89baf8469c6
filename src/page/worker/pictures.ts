/** What is worked out once a loop is heard: its loudness, its charts, its score and its findings. */

import type { Prepared } from '../../engine/prepared.ts';
import { stemsOf } from '../../engine/stems.ts';
import { Take } from '../../engine/take.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { contextFrom, listenerFor } from '../../findings/context.ts';
import type { Context, Finding } from '../../findings/finding.ts';
import { outsetOf } from '../../findings/outset.ts';
import { LoopLoudnessMeter } from '../../measure/loudness/loop-loudness.ts';
import { PeakMeter } from '../../measure/loudness/peak.ts';
import { IN_PAGE } from '../../output/chart/colours.ts';
import { scoring } from '../../output/score/score-of.ts';
import { scorePictures } from '../../output/score/score-svg.ts';
import { voiceCharts } from '../../output/sheet/charts.ts';
import { findingsBody, summaryBody } from '../../output/sheet/findings.ts';
import { envelopeVolts, type HitTime, levelEnvelopes } from '../../output/sheet/level-envelopes.ts';
import { answersBody } from '../../output/sheet/outline.ts';
import { VoiceMeter } from '../../output/sheet/sound.ts';
import { voltsCharts } from '../../output/sheet/volts-charts.ts';
import { jackName, jackNamed, type Patch } from '../../patch/patch.ts';
import { playedSeconds } from '../../timing/length.ts';
import type { ChartView, Parts, ScoreView, SoundStretch } from '../protocol.ts';
import { barAt, type LoopPlace } from './place.ts';
import type { LoopSound } from './sound.ts';

/** Lets newer requests in; throws when there is one, so that the work ends. */
export type Breath = () => Promise<void>;

/** Samples between two looks at newer requests: some ms of measuring (a second of sound), of drawing or of playing. */
const MEASURED = USUAL_RATE;
const STRETCH = 12_000;
/** Events of a score between two looks at newer requests. */
const HAPPENINGS = 8;
const BLOCK = 128;

/** Measures a whole loop. @returns an empty piece with the figures. */
export async function loopFigures(loop: LoopSound, breathe: Breath): Promise<SoundStretch> {
  const { channels, frames, probe } = loop;
  const loudness = new LoopLoudnessMeter(USUAL_RATE, channels.length);
  const peak = new PeakMeter();
  for (let from = 0; from < frames; from += MEASURED) {
    const count = Math.min(MEASURED, frames - from);
    const part = channels.map((channel) => channel.subarray(from, from + count));
    loudness.add(part, count);
    peak.add(part, count);
    await breathe();
  }
  return {
    from: 0,
    frames,
    channels: channels.map(() => new Float32Array(0)),
    ...(probe && { probe: { jack: probe.jack, volts: new Float32Array(0) } }),
    isWhole: true,
    loudnessLufs: loudness.integrated(),
    loudnessSteps: loudness.loudnessSteps(),
    peakDbfs: peak.dbfs,
  };
}

/**
 * Draws the envelope and the spectrum of a voice or the mix, and the volts of the probed jack.
 * @param start of the loop in the song, s.
 */
export async function chartsOf(
  of: Prepared,
  loop: LoopSound,
  start: number,
  voice: string | undefined,
  breathe: Breath,
): Promise<readonly ChartView[]> {
  const stem = loop.stem();
  const isVoice = voice !== undefined && stem.length > 0;
  const signals = isVoice ? stem : loop.channels;
  const block = signals.map(() => new Float64Array(BLOCK));
  const stems = stemsOf(of);
  const [only, ...others] = isVoice ? stems.filter(({ jack }) => jackName(jack) === voice) : stems;
  const jack = others.length === 0 ? only?.jack : undefined;
  const meter = new VoiceMeter(isVoice ? voice : jack ? jackName(jack) : 'the mix', block);
  for (let from = 0; from < loop.frames; from += BLOCK) {
    const count = Math.min(BLOCK, loop.frames - from);
    block.forEach((part, index) => {
      part.set((signals[index] as Float64Array).subarray(from, from + count));
    });
    meter.add(count);
    if (from % STRETCH < BLOCK) await breathe();
  }
  const heard = meter.finish();
  await breathe();
  const envelopes =
    jack === undefined || heard.time === undefined
      ? []
      : await inSlices(
          envelopeVolts(of, levelEnvelopes(of.nets, jack), later(heard.time, start)),
          breathe,
        );
  const drawn = voiceCharts([{ ...heard, envelopes }], IN_PAGE);
  const charts = drawn.map((chart, index) => ({ name: CHARTS[index] ?? '', ...chart }));
  const { probe } = loop;
  const probed = probe && jackNamed(of.patch, probe.jack);
  if (probe === undefined || probed === undefined) return charts;
  const { jack: name, volts } = probe;
  const heardVolts = { jack: probed, name, volts, sampleRate: USUAL_RATE };
  const volting = voltsCharts(of, heardVolts, IN_PAGE);
  return [...charts, ...volting.map((chart) => ({ name: 'volts', ...chart }))];
}

/** A hit's time in the song, of which a loop plays from `start` s on. */
function later({ start, from, to }: HitTime, by: number): HitTime {
  return { start: start + by, from: from + by, to: to + by };
}

/** As `voiceCharts` has them. */
const CHARTS = ['envelope', 'spectrum'];

/** Does work, and lets newer requests in after every few events. */
async function inSlices<T>(work: Generator<undefined, T>, breathe: Breath): Promise<T> {
  let step = work.next();
  for (let count = 1; !step.done; step = work.next(), count++)
    if (count % HAPPENINGS === 0) await breathe();
  return step.value;
}

/** Bars that the score shows at most. */
const MOST_BARS = 8;

/**
 * Draws the score of the loop, and lists when inputs answer; empty without a rhythm sequencer.
 * @param of without a count-in.
 */
export async function scoreViews(
  of: Prepared,
  { start, seconds }: LoopPlace,
  breathe: Breath,
): Promise<{ readonly score: readonly ScoreView[]; readonly parts: Parts }> {
  const shown = start + Math.min(seconds, barsFrom(of.patch, start));
  const work = scoring(of, { sampleRate: USUAL_RATE, seconds: shown, curves: true });
  const score = await inSlices(work, breathe);
  await breathe();
  if (score === undefined) return { score: [], parts: { answers: '' } };
  const pictures: ScoreView[] = [];
  for (const { name, ...picture } of scorePictures(score)) {
    if (picture.to <= start + 1e-9) continue;
    pictures.push({ ...picture, caption: `${name}, to scale.` });
    await breathe();
  }
  return { score: pictures, parts: { answers: answersBody(score) } };
}

/** How long a number of bars is from a time on, s. */
function barsFrom(patch: Patch, start: number): number {
  const secondsOf = (value: number): number => playedSeconds(patch, { unit: 'bars', value });
  const first = start === 0 ? 0 : barAt((bar) => secondsOf(bar - 1), start) - 1;
  return secondsOf(first + MOST_BARS) - secondsOf(first);
}

/** The most that a check listens to, s. */
const MOST_HEARD = 30;

/** Works out the facts that the rules need; sound that they must listen to is played in slices. */
export async function heardContext(of: Patch | Prepared, breathe: Breath): Promise<Context> {
  const outset = outsetOf(of);
  const { patch } = outset;
  await breathe();
  const listener = listenerFor(outset);
  const song = playedSeconds(patch, { unit: 'song' });
  const take = new Take(outset.prepared, {
    sampleRate: USUAL_RATE,
    length: { unit: 'seconds', value: Math.min(song, MOST_HEARD) },
    tail: { unit: 'seconds', value: 0 },
    probes: listener.jacks,
  });
  listener.begin(take.channels, take.probes, take.musicFrames);
  for (let given = take.read(); given > 0; given = take.read()) {
    listener.read(take.frames - given, given);
    if (take.frames % STRETCH < BLOCK) await breathe();
  }
  const context = contextFrom(outset, listener.heard(patch));
  context.envelopes();
  await breathe();
  return context;
}

/** The findings as the sheet has them. */
export function findingParts(findings: readonly Finding[], patch: Patch): Parts {
  return { findings: findingsBody(findings, patch), summary: summaryBody(findings) };
}
