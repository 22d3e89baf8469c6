/** A small drum voice to plant faults in, and its render to check predictions against. */

import { Take } from '../../src/engine/take.ts';
import { check } from '../../src/findings/check.ts';
import type { Finding } from '../../src/findings/finding.ts';
import type { JackRef } from '../../src/patch/patch.ts';
import { patchFrom } from '../patch-of.ts';

/** Hz; the rate that the findings are worked out for. */
export const RATE = 48_000;

/** What to have in place of the voice's own: settings as YAML in one line. */
export interface Wanted {
  readonly rhythm?: string;
  /** Tab of the channel hit; a step is 125 ms. */
  readonly hit?: string;
  /** All of the patterns, and the song. */
  readonly patterns?: string;
  readonly song?: string;
  readonly channels?: string;
  readonly shape?: string;
  readonly level?: string;
  readonly hiss?: string;
  readonly out?: string;
  /** Further modules, one a line, and further cables. */
  readonly modules?: readonly string[];
  readonly cables?: readonly string[];
  /** How the gate gets to the envelope, the envelope to the amplifier, and the sound to the output. */
  readonly trigger?: readonly string[];
  readonly control?: readonly string[];
  readonly sound?: readonly string[];
}

/** The text of a patch: a rhythm's gate, an envelope, noise through an amplifier. */
export function voice(wanted: Wanted = {}): string {
  const {
    rhythm = 'gate: 8 ms',
    hit = 'x--- x---',
    patterns = `{ groove: { hit: "${hit}" } }`,
    song = '[groove]',
    channels = '[hit]',
    shape = 'attack: 1 ms, decay: 80 ms, release: 80 ms',
    level = 'response: linear',
    hiss = 'level: 0.5 V',
    out = 'full-scale: 10 V',
    modules = [],
    cables = [],
    trigger = ['drums.hit -> shape.trigger'],
    control = ['shape.out -> level.control'],
    sound = ['level.out -> out.left'],
  } = wanted;
  const lines = [
    `drums: { kind: rhythm, tempo: 120 bpm, channels: ${channels}, patterns: ${patterns}, song: ${song}, ${rhythm} }`,
    `shape: { kind: envelope, ${shape} }`,
    `hiss: { kind: noise, ${hiss} }`,
    `level: { kind: amplifier, ${level} }`,
    `out: { kind: output, ${out} }`,
    ...modules,
  ];
  const plugs = [...trigger, ...control, 'hiss.white -> level.in', ...sound, ...cables];
  return [
    'title: A voice',
    'seed: test',
    'modules:',
    ...lines.map((line) => `  ${line}`),
    'cables:',
    ...plugs.map((cable) => `  - ${cable}`),
    '',
  ].join('\n');
}

/**
 * The same with a second rhythm, `hats`, that follows the clock of the first unless `cables` say what; its
 * hits end at the right output.
 * @param hats its settings. @param tab of its channel `tick`; a step is 125 ms at 120 bpm.
 */
export function followedVoice(hats: string, tab: string, wanted: Wanted = {}): string {
  const { modules = [], cables = ['drums.clock -> hats.clock-in'] } = wanted;
  return voice({
    ...wanted,
    modules: [
      `hats: { kind: rhythm, channels: [tick], patterns: { a: { tick: "${tab}" } }, ${hats} }`,
      'snap: { kind: envelope }',
      'shade: { kind: amplifier }',
      ...modules,
    ],
    cables: [
      ...cables,
      'hats.tick -> snap.trigger',
      'snap.out -> shade.control',
      'hiss.pink -> shade.in',
      'shade.out -> out.right',
    ],
  });
}

/** Files beside the patch, such as its rack. */
type Files = Readonly<Record<string, string>>;

/** What the check says of a patch by one rule. */
export function by(rule: string, text: string, files: Files = {}): readonly Finding[] {
  return check(patchFrom(text, files)).filter((finding) => finding.rule === rule);
}

/** Faults and cautions, as `rule severity`. */
export function troubles(text: string): string[] {
  return check(patchFrom(text))
    .filter(({ severity }) => severity !== 'note')
    .map(({ rule, severity }) => `${rule} ${severity}`);
}

/** A figure of a finding. */
export function figure(finding: Finding | undefined, name: string): number {
  const value = finding?.figures[name];
  if (typeof value !== 'number') throw new Error(`the finding has no number ${name}`);
  return value;
}

/** The render: volts at jacks over the song once, or for a time. */
export function rendered(
  text: string,
  jacks: readonly string[],
  seconds?: number,
  files: Files = {},
): { readonly volts: readonly Float64Array[]; readonly mix: readonly Float64Array[] } {
  const probes = jacks.map((name): JackRef => {
    const [module = '', jack = ''] = name.split('.');
    return { module, jack };
  });
  const take = new Take(patchFrom(text, files), {
    sampleRate: RATE,
    length: seconds === undefined ? { unit: 'song' } : { unit: 'seconds', value: seconds },
    tail: { unit: 'seconds', value: 0 },
    probes,
  });
  const frames = take.totalFrames ?? 0;
  const volts = probes.map(() => new Float64Array(frames));
  const mix = take.channels.map(() => new Float64Array(frames));
  for (let at = 0, given = take.read(); given > 0; at += given, given = take.read()) {
    for (const [i, all] of volts.entries())
      all.set((take.probes[i] as Float64Array).subarray(0, given), at);
    for (const [i, all] of mix.entries())
      all.set((take.channels[i] as Float64Array).subarray(0, given), at);
  }
  return { volts, mix };
}

/** Samples at which volts rise through a threshold. */
export function rises(volts: Float64Array, threshold = 2.5): number[] {
  const found: number[] = [];
  for (let i = 0; i < volts.length; i++)
    if ((volts[i] as number) >= threshold && !((volts[i - 1] ?? 0) >= threshold)) found.push(i);
  return found;
}

export function highest(volts: Float64Array, from = 0, to = volts.length): number {
  let most = Number.NEGATIVE_INFINITY;
  for (let i = from; i < to; i++) most = Math.max(most, volts[i] as number);
  return most;
}

/** The highest gain at any sample, from the jacks of the amplifier `level`, its output's load taken out. */
export function gain(text: string): number {
  const { volts } = rendered(text, ['level.in', 'level.out']);
  const [into, out] = volts as [Float64Array, Float64Array];
  return highest(
    out.map((v, i) =>
      Math.abs(into[i] as number) > 0.01 ? (v * 101) / 100 / (into[i] as number) : 0,
    ),
  );
}
