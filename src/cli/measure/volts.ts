/** `measure --as-volts`: a recorded gate or clock as volts, also compared with what a patch plans. */

import { basename, extname } from 'node:path';
import { patchLevels } from '../../electrical/levels.ts';
import { netlist } from '../../electrical/nets.ts';
import { sentEdges } from '../../engine/trace.ts';
import { type Alignment, alignedWith } from '../../measure/pulses/against.ts';
import type { ClockMeasures } from '../../measure/pulses/clock.ts';
import { isInverted } from '../../measure/pulses/inverted.ts';
import { type PulseOverlay, pulseOverlay } from '../../measure/pulses/overlay.ts';
import {
  type NoPulses,
  type PulseMeasures,
  type PulseSource,
  pulseMeasures,
} from '../../measure/pulses/pulses.ts';
import { PRINT } from '../../output/chart/colours.ts';
import { type DrawnChannel, pulseCharts } from '../../output/chart/pulse-charts.ts';
import { shortTime, shortVolts } from '../../output/chart/pulse-words.ts';
import { type Threshold, thresholdsAt } from '../../output/chart/thresholds.ts';
import { jackName, type Patch } from '../../patch/patch.ts';
import { counted } from '../../patch/text/counted.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import { songSeconds } from '../../timing/song.ts';
import { WavFile } from '../../wav/read-wav.ts';
import { wrongFile, wrongRequest } from '../exit.ts';
import { jackArgument } from '../options.ts';
import { type Output, planOutputs, SVG, type WantedFile } from '../outputs.ts';
import { readPatchFile } from '../read-patch.ts';
import { factsText, type MergedFacts, writeFacts } from '../reports/facts-into.ts';
import { say, sayJson, tell } from '../standard-output.ts';
import { table } from '../table.ts';
import { unreadableWav } from '../unreadable-wav.ts';

export interface VoltsOptions {
  readonly asVolts: number;
  /** Counted from 1; all channels if not given. */
  readonly channel?: number;
  readonly tempo?: number;
  readonly against?: string;
  readonly jack?: string;
  /** A rack to write what was found into, at `jack`. */
  readonly into?: string;
  /** A file to draw into. */
  readonly svg?: string;
  readonly force?: true | undefined;
  readonly json?: true;
  readonly quiet?: true;
}

interface MeasuredChannel {
  /** Counted from 1. */
  readonly channel: number;
  readonly measures: PulseMeasures | NoPulses;
  readonly alignment?: Alignment | undefined;
  /** Whether it goes low for each pulse, so that its falls stand beside the rises of a plan. */
  readonly isInverted?: boolean;
  /** If a picture is wanted: what is drawn of it. */
  readonly overlay?: PulseOverlay;
}

interface PlannedJack {
  readonly name: string;
  readonly jack: string;
  /** The thresholds of the inputs that the jack drives. */
  readonly thresholds: readonly Threshold[];
  /** What it sends, over at least the seconds asked for. */
  readonly pulses: (seconds: number) => PlannedPulses;
}

interface PlannedPulses {
  /** s. */
  readonly rises: readonly number[];
  /** s, of the longest of them. */
  readonly longest: number;
}

/** Measures files as volts and says what is found. */
export async function measureVolts(files: readonly string[], options: VoltsOptions): Promise<void> {
  const plan = options.against === undefined ? undefined : planOf(options.against, options.jack);
  const { into, jack } = options;
  if (into === undefined && plan === undefined && jack !== undefined)
    throw wrongRequest(
      '--jack names a jack of a patch, or of a rack: give that with --against, or with --into.',
    );
  if (into !== undefined && (plan !== undefined || jack === undefined || files.length > 1))
    throw wrongRequest(
      '--into writes what one recording tells of one jack of a rack: give --jack UNIT.JACK, one file and no --against.',
    );
  if (options.svg !== undefined && files.length > 1)
    throw wrongRequest('--svg draws one recording, and several were given.');
  if (options.svg === '-' && options.json)
    throw wrongRequest('--svg -: standard output takes one thing, and --json is another.');
  const results = files.map((file) => ({ file, ...measured(file, options, plan) }));
  const picture = planPicture(options);
  const written = into === undefined ? undefined : intoRack(into, jack ?? '', results[0]?.channels);
  if (picture !== undefined && results[0] !== undefined) {
    const svg = pulseCharts(results[0].file, drawnOf(results[0], plan), PRINT);
    picture.write(svg);
    await picture.deliver();
  }
  if (options.json) {
    const data = results.map(({ file, layout, channels }) => ({
      file,
      ...layout,
      fullScaleVolts: options.asVolts,
      channels: channels.map((one) => asData(one, options)),
      ...(written && { into: written }),
      ...(picture && { svg: picture.path }),
    }));
    sayJson(files.length === 1 ? (data[0] as object) : { files: data });
  } else if (!options.quiet) {
    const reports = results.map((one) => report(one, options, plan));
    const files = [
      ...(written ? [factsText(written).join('\n')] : []),
      ...(picture === undefined || picture.isStandard ? [] : [picture.path]),
    ];
    const words = [...reports, ...files].join('\n\n');
    if (picture?.isStandard) tell(words);
    else say(words);
  }
}

/** Checks the place for the picture, which must not be that of the rack. */
function planPicture({ svg, force, into }: VoltsOptions): Output | undefined {
  if (svg === undefined) return undefined;
  const rack = into === undefined ? [] : [rackToWrite(into)];
  return planOutputs([{ option: '--svg', path: svg, format: SVG }, ...rack], force)[0];
}

function rackToWrite(path: string): WantedFile {
  const format = { name: 'a rack', endings: [extname(path).toLowerCase()] };
  return { option: '--into', path, format, isInput: true };
}

/** Channels that one picture has room for. */
const MOST_DRAWN = 16;

function drawnOf(
  { file, channels }: { readonly file: string; readonly channels: readonly MeasuredChannel[] },
  plan: PlannedJack | undefined,
): readonly DrawnChannel[] {
  return channels.flatMap(({ channel, measures, overlay }): readonly DrawnChannel[] => {
    if (typeof measures === 'string' || overlay === undefined) return [];
    const name = channels.length === 1 ? basename(file) : `${basename(file)}, channel ${channel}`;
    return [{ name, measures, overlay, thresholds: plan?.thresholds ?? [] }];
  });
}

/** Writes what the one channel shows. @throws Stop where there are several and none was chosen. */
function intoRack(
  rack: string,
  jack: string,
  channels: readonly MeasuredChannel[] = [],
): MergedFacts {
  const [only, ...others] = channels;
  if (only === undefined || others.length > 0)
    throw wrongRequest(
      `--into: it has ${counted(channels.length, 'channel')}: say by --channel which is the jack's.`,
    );
  // Files that show nothing were refused before.
  return writeFacts(rack, jack, only.measures as PulseMeasures);
}

interface Layout {
  readonly sampleRate: number;
  readonly bitDepth: number;
  readonly encoding: string;
}

function measured(
  file: string,
  { asVolts, channel, svg }: VoltsOptions,
  plan: PlannedJack | undefined,
): { readonly layout: Layout; readonly channels: readonly MeasuredChannel[] } {
  try {
    const wav = new WavFile(file);
    try {
      const { sampleRate, layout } = wav;
      if (channel !== undefined && channel > wav.channels)
        throw wrongFile(
          file,
          `--channel ${channel}: it has ${counted(wav.channels, 'channel')}, counted from 1.`,
        );
      if (svg !== undefined && channel === undefined && wav.channels > MOST_DRAWN)
        throw wrongFile(
          file,
          `--svg draws at most ${MOST_DRAWN} channels, and it has ${wav.channels}: choose one by --channel.`,
        );
      const all = Array.from({ length: wav.channels }, (_, index) => index + 1);
      const channels = (channel === undefined ? all : [channel]).map((number): MeasuredChannel => {
        const source: PulseSource = {
          sampleRate,
          fullScale: asVolts,
          channel: number - 1,
          blocks: () => wav.blocks,
        };
        const measures = pulseMeasures(source);
        if (typeof measures === 'string') return { channel: number, measures };
        const overlay = svg === undefined ? {} : { overlay: pulseOverlay(source, measures) };
        const planned = plan?.pulses(measures.seconds);
        const isTurned = isInverted(measures, planned?.longest);
        const one = { channel: number, measures, isInverted: isTurned, ...overlay };
        if (planned === undefined) return one;
        const { rises, falls, seconds, isCut } = measures;
        const alignment = isTurned
          ? alignedWith(planned.rises, falls, seconds, (rises[0] ?? 0) < (falls[0] ?? 0))
          : alignedWith(planned.rises, rises, seconds, isCut.start);
        return { ...one, alignment };
      });
      const [first] = channels;
      if (first !== undefined && channels.every(({ measures }) => typeof measures === 'string'))
        throw wrongFile(file, WHY_NONE[first.measures as NoPulses]);
      return {
        layout: { sampleRate, bitDepth: layout.bits, encoding: layout.encoding },
        channels,
      };
    } finally {
      wav.close();
    }
  } catch (error) {
    throw unreadableWav(error, file);
  }
}

const WHY_NONE: { readonly [why in NoPulses]: string } = {
  empty: 'this has no samples.',
  'no-levels':
    'there is no gate or clock in it: it does not go between two levels. Silence, noise, music and a gate that went through a small capacitor look like that. Record a gate by a DC-coupled input, alone.',
  'no-pulses':
    'it never rises and falls: one level, or a single step. Record several pulses from before the first one on.',
  'a-wave':
    'this is a wave, not a gate: it rests at neither of its two ends. Record a gate or a clock; measure without --as-volts is for sound.',
};

/** What a patch sends at a jack. @throws Stop for a jack that is not a gate or the clock of a rhythm. */
function planOf(file: string, jack: string | undefined): PlannedJack {
  const patch = readPatchFile(file, [], undefined);
  const rhythm = patch.modules.find(({ definition }) => definition.role === 'score');
  if (rhythm === undefined)
    throw wrongFile(file, 'the patch has no rhythm sequencer, so it plans no pulses.');
  const asked = jack ?? `${rhythm.name}.clock`;
  const ref = jackArgument(asked, patch, '--jack');
  const owner = patch.modules.find(({ name }) => name === ref.module);
  const found = owner?.jacks.find(({ name }) => name === ref.jack);
  if (owner?.definition.role !== 'score' || found?.direction !== 'out' || found.signal !== 'gate')
    throw wrongRequest(
      `--jack ${asked}: a gate or the clock of a rhythm sequencer was expected, such as ${rhythm.name}.clock.`,
    );
  const song = songSeconds(rhythmSettings(owner.settings));
  const nets = netlist(patch, [ref]);
  return {
    name: patch.title,
    jack: jackName(ref),
    thresholds: thresholdsAt(patchLevels(patch, 0, nets), nets, ref),
    // The recording may begin anywhere in the song.
    pulses: (seconds) => pulsesOf(patch, jackName(ref), seconds + song),
  };
}

const PLAN_RATE = 192_000;

function pulsesOf(patch: Patch, jack: string, seconds: number): PlannedPulses {
  const rises: number[] = [];
  let longest = 0;
  for (const edge of sentEdges(patch, { sampleRate: PLAN_RATE, seconds })) {
    if (edge.jack !== jack) continue;
    if (edge.edge === 'rise') rises.push(edge.time);
    else longest = Math.max(longest, edge.time - (rises.at(-1) ?? 0));
  }
  return { rises, longest };
}

/** The shape that scripts rely on; what could not be measured is null. */
function asData(
  { channel, measures, alignment, isInverted: isTurned }: MeasuredChannel,
  { tempo, against }: VoltsOptions,
): object {
  if (typeof measures === 'string') return { channel, nothing: measures };
  const { levels, coupling, cornerHz, clock } = measures;
  return {
    channel,
    nothing: null,
    seconds: measures.seconds,
    lowVolts: levels?.low ?? null,
    highVolts: levels?.high ?? null,
    swingVolts: measures.swing,
    noiseVolts: measures.noise,
    clippedSamples: measures.clipped,
    isDcCoupled: coupling === 'unknown' ? null : coupling === 'direct',
    cornerHz: cornerHz ?? null,
    isInverted: isTurned ?? false,
    pulses: measures.rises.length,
    isCutAtStart: measures.isCut.start,
    isCutAtEnd: measures.isCut.end,
    widthSeconds: measures.width ?? null,
    riseSeconds: measures.riseTime ?? null,
    fallSeconds: measures.fallTime ?? null,
    intervalSeconds: measures.interval ?? null,
    clock: clock && {
      periodSeconds: clock.period,
      hertz: 1 / clock.period,
      pulsesPerQuarter: tempo === undefined ? null : 60 / (tempo * clock.period),
      jitterRmsSeconds: clock.jitterRms,
      jitterWorstSeconds: clock.jitterWorst,
      periodJitterRmsSeconds: clock.periodJitterRms,
      periodJitterWorstSeconds: worstPeriod(clock),
      swingPercent: clock.swingPercent ?? null,
      missing: clock.missing,
      doubles: clock.doubles,
    },
    ...(clock === undefined && { clock: null }),
    ...(against !== undefined && {
      against: alignment === undefined ? null : alignedData(alignment),
    }),
  };
}

function alignedData({ start, asWell, drift, pulses, extra }: Alignment): object {
  return {
    startSeconds: start,
    asWellEarlierSeconds: asWell ?? null,
    driftPpm: drift,
    pulses: pulses.map(({ planned, late }) => ({
      plannedSeconds: planned,
      lateSeconds: late ?? null,
    })),
    extra,
  };
}

function report(
  {
    file,
    layout,
    channels,
  }: {
    readonly file: string;
    readonly layout: Layout;
    readonly channels: readonly MeasuredChannel[];
  },
  options: VoltsOptions,
  plan: PlannedJack | undefined,
): string {
  const head = `${file}, ${options.asVolts} V at full scale\n  ${layout.sampleRate / 1000} kHz, ${layout.bitDepth}-bit ${layout.encoding}`;
  const parts = channels.map((one) => {
    const name = channels.length > 1 ? `  channel ${one.channel}\n` : '';
    const { measures } = one;
    if (typeof measures === 'string') return `${name}  ${WHY_NONE[measures]}`;
    const against = plan === undefined ? [] : alignedText(one.alignment, plan);
    const turned = one.isInverted ? INVERTED : [];
    return `${name}${[...channelText(measures, layout, options), ...turned, ...against].map((line) => `  ${line}`).join('\n')}`;
  });
  return [head, ...parts].join('\n');
}

function channelText(
  measures: PulseMeasures,
  { sampleRate }: Layout,
  { tempo }: VoltsOptions,
): readonly string[] {
  const { levels, swing, noise, clipped, cornerHz, rises, width, interval, clock, isCut } =
    measures;
  const resolution = `under ${shortTime(1.6 / sampleRate)}, as fast as ${sampleRate / 1000} kHz shows`;
  const isUnknown = measures.coupling === 'unknown';
  // An edge that no filter has rounded lies anywhere within a sample.
  const own = 1 / Math.sqrt(12) / sampleRate;
  return [
    levels === undefined
      ? `swing ${shortVolts(swing)}, noise ${shortVolts(noise)}; no levels:`
      : `low ${shortVolts(levels.low)}, high ${shortVolts(levels.high)}, swing ${shortVolts(swing)}, noise ${shortVolts(noise)}`,
    ...(isUnknown
      ? [
          'whether a capacitor is in the way cannot be told from so short, so noisy or so fast a recording, and with',
          'one the pulses stand elsewhere, and those at its start may not all be counted. Record 10 s from before the',
          'first pulse on, at a higher gain, or measure the level with a meter.',
        ]
      : []),
    ...(cornerHz === undefined
      ? []
      : [
          `a capacitor is in the way (${cornerHz === 0 ? 'its corner too low to tell' : `corner ${cornerHz.toPrecision(2)} Hz`}): where the pulses stand cannot be told from this`,
          `recording. Use a DC-coupled input, or measure the level with a meter.`,
        ]),
    ...(clipped === 0
      ? []
      : [`${counted(clipped, 'sample')} at full scale: the volts are higher than they show`]),
    `${counted(rises.length, 'pulse')}${width === undefined ? '; how long they are cannot be told' : `, ${spread(width)} long`}`,
    ...(isCut.start ? ['it begins within a pulse, which is not counted'] : []),
    ...(isCut.end ? ['it ends within a pulse, whose rise counts'] : []),
    `rise ${measures.riseTime === undefined ? resolution : shortTime(measures.riseTime)}, fall ${measures.fallTime === undefined ? resolution : shortTime(measures.fallTime)} (10 to 90 %)`,
    ...(clock === undefined
      ? interval === undefined
        ? []
        : [
            `from one to the next ${spread(interval)}: ${rises.length < 4 ? 'too few to tell a clock' : 'a rhythm, not a clock'}`,
          ]
      : [
          `period ${shortTime(clock.period)}, ${Number((1 / clock.period).toPrecision(6))} Hz${tempo === undefined ? '' : `, at ${tempo} bpm ${Number((60 / (tempo * clock.period)).toPrecision(5))} pulses per quarter`}${clock.swingPercent === undefined ? '' : `, swing ${clock.swingPercent.toFixed(1)} %`}`,
          `jitter ${shortTime(clock.jitterRms)} rms, ${shortTime(clock.jitterWorst)} at worst; of periods ${shortTime(clock.periodJitterRms)} rms, ${shortTime(worstPeriod(clock))} at worst`,
          ...(measures.riseTime === undefined && clock.jitterRms < 3 * own
            ? [
                `under ${shortTime(own)} rms it may be the recording's own: its edges take less than a sample`,
              ]
            : []),
          ...named('missing', clock.missing),
          ...named('twice', clock.doubles),
        ]),
  ];
}

/** s, of periods against their mean. */
function worstPeriod({ periods }: ClockMeasures): number {
  return periods.reduce((most, { off }) => Math.max(most, Math.abs(off)), 0);
}

const INVERTED: readonly string[] = [
  'it rests high and goes low for each pulse: a gate upside down, as behind an inverting input, or a switch trigger.',
  'All above is as recorded; beside a plan its falls are taken for the rises',
];

/** Pulses that are printed one by one. */
const MOST_NAMED = 12;

function named(what: string, times: readonly number[]): readonly string[] {
  if (times.length === 0) return [];
  const some = times.slice(0, MOST_NAMED).map((one) => `${one.toFixed(3)} s`);
  const more = times.length > MOST_NAMED ? ` and ${times.length - MOST_NAMED} more` : '';
  return [`${what}: ${some.join(', ')}${more}`];
}

/** s: pulses that are later or earlier than this are printed one by one. */
const LATE = 0.0005;

/** s: what begins so near the first sample begins with it. */
const WITH_IT = 0.0001;

function placeText(start: number): string {
  if (Math.abs(start) <= WITH_IT) return 'with the recording';
  return start < 0 ? `${shortTime(-start)} before the recording` : `at ${start.toFixed(4)} s`;
}

function alignedText(
  alignment: Alignment | undefined,
  { jack, name }: PlannedJack,
): readonly string[] {
  if (alignment === undefined)
    return [
      `not ${jack} of ${name}: fewer than half of its pulses are there, or most of those recorded are not its own`,
    ];
  const { start, asWell, drift, pulses, extra } = alignment;
  const lates = pulses.flatMap(({ late }) => (late === undefined ? [] : [late]));
  const worst = lates.reduce((most, late) => Math.max(most, Math.abs(late)), 0);
  const last = pulses.findLastIndex(({ late }) => late !== undefined);
  const [stopped] = last < pulses.length - 2 ? pulses.slice(last + 1) : [];
  const off = pulses
    .slice(0, stopped === undefined ? pulses.length : last + 1)
    .filter(({ late }) => late === undefined || Math.abs(late) > LATE);
  const rows = off
    .slice(0, MOST_NAMED)
    .map(({ planned, late }) => [
      `${planned.toFixed(4)} s`,
      late === undefined
        ? 'missing'
        : `${shortTime(Math.abs(late))} ${late > 0 ? 'late' : 'early'}`,
    ]);
  return [
    `beside ${jack} of ${name}: it begins ${placeText(start)}, drift ${drift.toFixed(1)} ppm; ${lates.length} of ${counted(pulses.length, 'pulse')} there, ${shortTime(worst)} off at worst`,
    ...(asWell === undefined
      ? []
      : [
          `it fits as well ${shortTime(asWell)} earlier, so how many pulses came before the recording cannot be known;`,
          'for that, record from before the first pulse on',
        ]),
    ...(rows.length === 0 ? [] : table([['planned', 'recorded'], ...rows], 2).split('\n')),
    ...(off.length > MOST_NAMED ? [`  ${off.length - MOST_NAMED} more; --json gives all`] : []),
    ...(stopped === undefined
      ? []
      : [
          `none of those planned from ${stopped.planned.toFixed(4)} s on: it stopped before the recording did`,
        ]),
    ...named('not planned', extra),
  ];
}

function spread({ median, least, most }: { median: number; least: number; most: number }): string {
  const all = [median, least, most].map(shortTime);
  return all[1] === all[2] ? (all[0] as string) : `${all[0]} (${all[1]} to ${all[2]})`;
}
