/** `forehear measure`: numbers out of recordings. */

import { type Command, Option } from 'commander';
import { milliseconds, unit } from '../../compare/figures.ts';
import { DOUBT_NOTE, isDoubted, percentage, showsDoubt, withDoubt } from '../../measure/doubt.ts';
import { burstsOf, ringing } from '../../measure/hits/bursts.ts';
import { tempoInThrees } from '../../measure/hits/grids/in-threes.ts';
import type { Hit } from '../../measure/hits/hits.ts';
import { typical } from '../../measure/hits/typical.ts';
import { speakersOf } from '../../measure/loudness/speakers.ts';
import type { Measures } from '../../measure/signal.ts';
import { largest } from '../../modules/dsp/extremes.ts';
import { differenceMap } from '../../output/chart/difference-map.ts';
import { counted } from '../../patch/text/counted.ts';
import type { WavLayout } from '../../wav/wav-header.ts';
import { Stop, wrongRequest } from '../exit.ts';
import { compared, comparedData, comparedText } from '../measure/against.ts';
import {
  type DoubtsOfHits,
  doubtsOfHits,
  type FigureDoubt,
  reasonsInWords,
} from '../measure/doubts.ts';
import { type MeasuredFile, measuredFile } from '../measure/measured-file.ts';
import { measureVolts } from '../measure/volts.ts';
import {
  jsonOption,
  quietOption,
  tempoArgument,
  voltsArgument,
  wholeArgument,
} from '../options.ts';
import { forceOption, type Output, OutputOption, planOutputs, SVG } from '../outputs.ts';
import { say, sayJson } from '../standard-output.ts';
import { table } from '../table.ts';
import { unreadableWav } from '../unreadable-wav.ts';

/** The most channels that the header of a WAV file can state. */
const MOST_CHANNELS = 65_535;

interface Options {
  asVolts?: number;
  channel?: number;
  tempo?: number;
  against?: string;
  jack?: string;
  into?: string;
  svg?: string;
  force?: true;
  json?: true;
  quiet?: true;
}

export function register(program: Command): void {
  program
    .command('measure')
    .argument('<file...>', 'WAV files: 8 to 32 bits or float, any rate, one channel or more')
    .summary('measure recordings: onsets, decays, pitch, spectrum, loudness')
    .description(
      'Measure WAV files: the onsets, and for each hit attack, decay (time constant, EDT, T20 and T60, the times to -20, -40 and -60 dB, two slopes), pitch and spectrum; for the file levels, loudness, bands, tempo and swing.',
    )
    .option(
      '--as-volts <volts>',
      'take it for a gate or a clock, with this many volts at full scale, such as 10V: levels, widths, edges, jitter',
      voltsArgument,
    )
    .addOption(
      new Option('--channel <number>', 'with --as-volts: only this channel').argParser(
        wholeArgument(1, MOST_CHANNELS),
      ),
    )
    .option(
      '--tempo <bpm>',
      'with --as-volts: print pulses per quarter at this tempo',
      tempoArgument,
    )
    .option(
      '--against <file>',
      'how far a hit of the one file is from one of this recording, band by band and time by time; with --as-volts a patch: line it up with what that plans',
    )
    .addOption(
      new OutputOption(
        '--svg <file>',
        'with --against: draw where they differ, bands over time; with --as-volts: draw the pulses over one another, and a histogram of their periods',
      ),
    )
    .addOption(forceOption())
    .option(
      '--jack <jack>',
      'with --as-volts and --against: which jack (unless set: the clock of the rhythm); with --into: of which unit, such as drums.clock',
    )
    .option(
      '--into <file>',
      'with --as-volts: write levels, rise and width into this rack, at the jack that --jack names; all else in it stays as it is, and so does what it has more exactly',
    )
    .addOption(jsonOption())
    .addOption(quietOption())
    .addHelpText('after', EXAMPLES)
    .action((files: readonly string[], options: Options) =>
      options.asVolts === undefined && (options.against ?? options.svg) !== undefined
        ? runAgainst(files, options)
        : run(files, options),
    );
}

async function run(files: readonly string[], options: Options): Promise<void> {
  const { asVolts, force, svg } = options;
  if (force && svg === undefined)
    throw wrongRequest('--force is of --svg: say which file with it.');
  if (asVolts !== undefined) return measureVolts(files, { ...options, asVolts });
  for (const name of ['channel', 'tempo', 'jack', 'into'] as const)
    if (options[name] !== undefined) throw goesWithVolts(name);
  const { json, quiet } = options;
  const results: MeasuredFile[] = [];
  const failures: Stop[] = [];
  // One bad file must not cost the numbers of the others.
  for (const file of files) {
    try {
      results.push(await measuredFile(file, { isQuiet: json === true || quiet === true }));
    } catch (error) {
      failures.push(unreadableWav(error, file));
    }
  }
  const data = results.map(asData);
  const done = files.length === 1 ? (data[0] ?? {}) : { files: data };
  if (results.length > 0 && !json && !quiet) say(asText(results, files.length));
  if (failures.length === 0) {
    if (json) sayJson(done);
    return;
  }
  const code = largest(failures.map((failure) => failure.code)) as Stop['code'];
  const message = failures.map((failure) => failure.message).join('\n');
  const wrong = failures.flatMap((failure) => failure.wrong);
  throw new Stop(code, message, wrong, done);
}

function goesWithVolts(name: string): Stop {
  return wrongRequest(
    `--${name} goes with --as-volts: say how many volts full scale is, such as --as-volts 10V.`,
  );
}

async function runAgainst(
  files: readonly string[],
  { against, svg, force, json, quiet, ...volts }: Options,
): Promise<void> {
  for (const name of ['channel', 'tempo', 'jack', 'into'] as const)
    if (volts[name] !== undefined) throw goesWithVolts(name);
  const [file, ...others] = files;
  if (against === undefined)
    throw wrongRequest(
      '--svg draws how far a file is from another: give that with --against; or a gate: give --as-volts.',
    );
  if (file === undefined || others.length > 0)
    throw wrongRequest('--against compares one file with another, and several were given.');
  if (force && svg === undefined)
    throw wrongRequest('--force is of --svg: say which file with it.');
  if (svg === '-' && json)
    throw wrongRequest('--svg -: standard output takes one thing, and --json is another.');
  let output: Output | undefined;
  const found = await compared(file, against, {
    isQuiet: json === true || quiet === true,
    onRead: () => {
      if (svg !== undefined)
        [output] = planOutputs([{ option: '--svg', path: svg, format: SVG }], force);
    },
  });
  if (output !== undefined) {
    output.write(differenceMap(found));
    await output.deliver();
  }
  if (json) return sayJson(comparedData(found));
  if (!quiet && output?.isStandard !== true) say(comparedText(found));
}

/** The shape that scripts rely on. */
function asData({ file, layout, measures, mends, defects }: MeasuredFile): object {
  return {
    file,
    bitDepth: layout.bits,
    encoding: layout.encoding,
    ...measures,
    mended: mends ?? null,
    defects,
  };
}

function asText(results: readonly MeasuredFile[], asked: number): string {
  return asked === 1 ? results.map(report).join('\n') : comparison(results);
}

function report({ file, layout, measures, defects }: MeasuredFile): string {
  const { bands, hits, onsets } = measures;
  const lines = [
    file,
    `  ${seconds(measures.seconds)}, ${channelWord(measures.channels)}, ${measures.sampleRate / 1000} kHz, ${layout.bits}-bit ${layout.encoding}`,
    `  peak ${unit(measures.peakDbfs, 1, 'dBFS')}, true peak ${unit(measures.truePeakDbtp, 1, 'dBTP')}, loudness ${unit(measures.loudnessLufs, 1, 'LUFS')}, crest ${unit(measures.crestDb, 1, 'dB')}`,
    `  centroid ${unit(measures.centroidHz, 0, 'Hz')}, flatness ${unit(measures.flatness, 3, '')}, offset ${percentage(measures.dcOffset, 2)} of full scale`,
    `  ${tempoText(measures)}`,
  ];
  if (layout.channels > 2) lines.splice(3, 0, `  loudness counts ${countedText(layout)}`);
  for (const { message } of defects) lines.push(`  ${message}`);
  if (hits.length > 0) {
    const [rows, falls] = [hits.map(hitRow), hits.map(fallRow)];
    const [ofHits, ofFalls] = [
      doubtsOfHits(hits.map(hitDoubts)),
      doubtsOfHits(hits.map(fallDoubts)),
    ];
    lines.push('', hitTable(HIT_COLUMNS, rows, ofHits));
    if (burstsOf(hits).length < hits.length) lines.push(STROKES);
    const flams = hits.flatMap(gracesRow);
    if (flams.length > 0) lines.push('', FLAMS, table([FLAM_COLUMNS, ...flams], 2));
    const ratchets = hits.flatMap(ratchetRow);
    if (ratchets.length > 0) lines.push('', RATCHETS, table([RATCHET_COLUMNS, ...ratchets], 2));
    lines.push('', FALLS, hitTable(FALL_COLUMNS, falls, ofFalls));
    if (showsDoubt([...rows, ...falls].flat())) lines.push(`  ${DOUBT_NOTE}`);
    for (const text of reasonsInWords([...ofHits.reasons, ...ofFalls.reasons]))
      lines.push(`  ${text}`);
  }
  if (onsets.length > hits.length) {
    lines.push(`  ${onsets.length - hits.length} more onsets were not measured one by one.`);
  }
  const heard = bands.filter(({ db }) => db !== null);
  if (heard.length > 0) {
    lines.push('', '  Third-octave bands, Hz, and dB against a full-scale sine');
    for (let first = 0; first < heard.length; first += BANDS_PER_ROW) {
      const row = heard.slice(first, first + BANDS_PER_ROW);
      lines.push(table([row.map(({ nominalHz }) => hertzName(nominalHz)), row.map(bandText)], 2));
    }
  }
  return lines.join('\n');
}

/** The last column says what is in doubt of one hit, a line below what is of all. */
function hitTable(
  columns: readonly string[],
  rows: readonly (readonly string[])[],
  { cells, ofAll }: DoubtsOfHits,
): string {
  const all = table([columns, ...rows.map((row, index) => [...row, cells[index] ?? ''])], 2);
  return ofAll === '' ? all : `${all}\n  In doubt or unknown of every hit: ${ofAll}`;
}

const BANDS_PER_ROW = 15;
const STROKES =
  '  Strokes within 30 ms of one another, as of a flam or a clap, are given each: the earlier ones are\n  cut short by the later.';
const HIT_COLUMNS = [
  'at',
  'peak',
  'attack',
  'decay tau',
  'T60',
  'pitch',
  'centroid',
  'flatness',
  'in doubt',
];

function hitRow(hit: Hit): string[] {
  const { reliability } = hit;
  return [
    seconds(hit.time),
    unit(hit.peakDbfs, 1, 'dBFS'),
    withDoubt(milliseconds(hit.attackSeconds), reliability.attack),
    withDoubt(milliseconds(hit.decayTauSeconds), reliability.decay),
    withDoubt(milliseconds(hit.t60Seconds), reliability.t60),
    withDoubt(pitchText(hit), reliability.pitch),
    unit(hit.centroidHz, 0, 'Hz'),
    unit(hit.flatness, 3, ''),
  ];
}

const FLAMS =
  '  Grace strokes, heard where the ringing is taken out, or told by other strokes of the same drum; only where that\n  is certain';
const FLAM_COLUMNS = ['main stroke at', 'grace strokes before it', 'softer by'];

function gracesRow({ flam, drag }: Hit): readonly string[][] {
  const one = flam === null ? null : { ...flam, graces: [flam] };
  const told = drag ?? one;
  if (told === null) return [];
  const { time, graces, reliability } = told;
  const apart = graces.map(({ seconds }) => milliseconds(seconds)).join(', ');
  const softer = graces.map(({ softerDb }) => softerDb.toFixed(0)).join(', ');
  return [[seconds(time), withDoubt(apart, reliability), `about ${softer} dB`]];
}

const RATCHETS =
  '  Equal strokes that ring into one another, told by other strokes of the same drum; only where that is certain';
const RATCHET_COLUMNS = ['first at', 'strokes', 'from each to the next'];

function ratchetRow({ ratchet }: Hit): readonly string[][] {
  if (ratchet === null) return [];
  const { time, strokes, seconds: apart, reliability } = ratchet;
  return [[seconds(time), `${strokes}`, withDoubt(milliseconds(apart), reliability)]];
}

const FALLS =
  '  The fall of each hit: early decay time and T20 as ISO 3382 has them (times of 60 dB, from the first 10 dB\n  and from -5 to -25 dB), and the time from the loudest until the level is so far down';
const FALL_COLUMNS = [
  'at',
  'EDT',
  'T20',
  'to -20 dB',
  'to -40 dB',
  'to -60 dB',
  'two slopes',
  'in doubt',
];

function fallRow(hit: Hit): string[] {
  const { reliability } = hit;
  return [
    seconds(hit.time),
    withDoubt(milliseconds(hit.edtSeconds), reliability.edt),
    withDoubt(milliseconds(hit.t20Seconds), reliability.t20),
    withDoubt(milliseconds(hit.down20Seconds), reliability.down20),
    withDoubt(milliseconds(hit.down40Seconds), reliability.down40),
    withDoubt(milliseconds(hit.down60Seconds), reliability.down60),
    withDoubt(slopesText(hit), hit.slopes?.reliability ?? 1),
  ];
}

function slopesText({ slopes }: Hit): string {
  if (slopes === null) return '-';
  const { earlyTau, lateTau, kneeDb } = slopes;
  return `tau ${milliseconds(earlyTau)}, from ${kneeDb.toFixed(0)} dB on ${milliseconds(lateTau)}`;
}

function pitchText({ pitchHz, pitchStartHz, pitchFallSeconds }: Hit): string {
  if (pitchHz === null) return '-';
  if (pitchFallSeconds === null || pitchStartHz === null) return `${pitchHz.toFixed(1)} Hz`;
  return `${pitchStartHz.toFixed(0)} to ${pitchHz.toFixed(1)} Hz, tau ${milliseconds(pitchFallSeconds)}`;
}

const hitDoubts = ({ reasons: { attack, decay, t60, pitch } }: Hit): readonly FigureDoubt[] => [
  ['attack', attack],
  ['decay', decay],
  ['T60', t60],
  ['pitch', pitch],
];

const fallDoubts = ({ reasons, slopes }: Hit): readonly FigureDoubt[] => [
  ['EDT', reasons.edt],
  ['T20', reasons.t20],
  ['-20', reasons.down20],
  ['-40', reasons.down40],
  ['-60 dB', reasons.down60],
  ['two slopes', slopes !== null && isDoubted(slopes.reliability) ? 'unsure' : null],
];

function tempoText({ tempo, onsets, hits }: Measures): string {
  const count = counted(onsets.length, 'onset');
  if (tempo === null) return `${count}; no tempo can be found from them`;
  const swing = tempo.swingPercent === null ? '' : `, swing ${tempo.swingPercent.toFixed(1)} %`;
  const bpm = withDoubt(`${tempo.bpm.toFixed(1)} bpm`, tempo.reliability);
  const mains = hits.map(({ time, flam, drag }) => drag?.time ?? flam?.time ?? time);
  const inThrees = hits.length === onsets.length ? tempoInThrees(mains) : null;
  const others = [
    ...tempo.otherBpm.map((one) => `, or as well ${one.toFixed(1)} bpm`),
    ...(inThrees === null ? [] : [`, or as triplets ${inThrees.toFixed(1)} bpm`]),
  ].join('');
  return `${count}; ${bpm} (or half or double${others}), ${counted(tempo.stepsPerQuarter, 'step')} per quarter${swing}, ${percentage(tempo.onGrid, 0)} on the grid`;
}

function comparison(results: readonly MeasuredFile[]): string {
  const head = [
    'file',
    'onsets',
    'peak',
    'true peak',
    'loudness',
    'decay tau',
    'centroid',
    'tempo',
  ];
  const rows = results.map(({ file, measures }) => [
    file,
    String(measures.onsets.length),
    unit(measures.peakDbfs, 1, 'dBFS'),
    unit(measures.truePeakDbtp, 1, 'dBTP'),
    unit(measures.loudnessLufs, 1, 'LUFS'),
    typicalDecay(measures.hits),
    unit(measures.centroidHz, 0, 'Hz'),
    measures.tempo === null
      ? '-'
      : withDoubt(`${measures.tempo.bpm.toFixed(1)} bpm`, measures.tempo.reliability),
  ]);
  const note = showsDoubt(rows.flat()) ? `\n${DOUBT_NOTE}` : '';
  return `${table([head, ...rows])}\n${note}\nDecay is the median over the hits, weighted by how far each can be trusted. One file alone is shown hit by hit; --json gives everything.`;
}

function typicalDecay(hits: readonly Hit[]): string {
  const { value, reliability } = typical(
    ringing(hits).map((hit) => ({
      value: hit.decayTauSeconds,
      reliability: hit.reliability.decay,
    })),
  );
  return withDoubt(milliseconds(value), reliability);
}

/** The speaker positions of more than two channels, and the weight of each in the loudness. */
function countedText({ channels, channelMask }: WavLayout): string {
  const words = speakersOf(channels, channelMask).map(({ name, weight }) => {
    if (weight === 0) return `${name} not at all`;
    return weight === 1 ? name : `${name} x ${weight}`;
  });
  const kind = channelMask === null ? ', by their number' : '';
  return `${words.join(', ')} (ITU-R BS.1770${kind})`;
}

function channelWord(count: number): string {
  if (count === 1) return 'mono';
  return count === 2 ? 'stereo' : `${count} channels`;
}

function seconds(value: number): string {
  return `${value.toFixed(3)} s`;
}

function hertzName(hz: number): string {
  return hz < 1000 ? String(hz) : `${hz / 1000}k`;
}

function bandText({ db }: { readonly db: number | null }): string {
  return db === null ? '-' : db.toFixed(0);
}

const EXAMPLES = `
Examples:
  forehear measure renders/closed-hat.wav
  forehear measure take-1.wav take-2.wav take-3.wav     a table, one row a file
  forehear measure kick.wav --json
  forehear measure clock.wav --as-volts 10V --tempo 120
  forehear measure clock.wav --as-volts 10V --against my-hat.yaml --jack drums.clock --svg clock.svg
  forehear measure clock.wav --as-volts 10V --channel 1 --into my-rack.yaml --jack drums.clock
  forehear measure mine.wav --against real.wav --svg map.svg

Strokes down to about 10 ms apart, as of a flam or a clap, are told apart, if the level clearly
rises again. A grace stroke 5 to 30 ms before its main stroke, 3 to 12 dB softer, is also looked for
where the ringing of the drum is taken out, and listed where it is certain ("flam" of a hit in --json).
Where three or more strokes of a drum stand alone in the recording, up to three grace strokes of others, 14 to
36 ms apart, are looked for by how these go ("drag" of a hit in --json: two or three grace strokes), and so
are two to four strokes as loud as one another, up to 75 ms apart ("ratchet").

A value that cannot be trusted has a ? behind it, one that is not known is a dash; the reason of each stands
beside it, such as noise-floor or cut-short, and below in words. --json has the reasons too, and the reliability
of each, from 0 to 1. What the
recording suffers from is listed before its hits ("defects" in --json): silence, no hit, a start in the
middle of a sound, an end before it has died away, flat tops, an offset or a drift, hum of 50 or 60 Hz
mains, channels in opposite phase or silent, few bits or few of their steps, a few milliseconds. The hits of a recording with
drift or hum are measured with both taken out, and the output says so ("mended" in --json).

A clock or gate that rests high and goes low for each pulse (behind an inverting input, or a switch trigger)
is measured as it was recorded, and the output says that it is upside down ("isInverted" in --json). Beside a plan its falls
are then taken for the rises, and --into refuses it. That is seen where its high volts are 0 V, where it rests before
or after its pulses, and beside a plan by their lengths; otherwise record it from before its start.

Without --as-volts, --against gives a distance in dB between one hit of each file, by fixed weights:
the mean magnitude of the difference over third octaves from 50 Hz to 16 kHz (IEC 61260-1) and frames
of 10 ms, aligned where each first comes within 20 dB of its peak, their energies made alike, down to
60 dB under the other file's peak or to its noise; 0.1 dB for each dB of spectral flatness; 0.2 dB for
each semitone between two tones.
The mean is over the time in which the other file's hit is heard, whatever silence follows; so is each
band's, so that the mean of the bands is the figure of the whole. A filter of 50 Hz answers 55 ms late,
one of 500 Hz 5 ms, the same in both files.
"To be added" is by how much the other file is louder there. If one file is cut off before its hit
has died away, nothing after that counts, since the file does not show it. Drift and hum are taken out of
both first, if they are heard alone for 0.8 s ("mended" in --json). Of several hits, those
about as loud as the loudest are considered, and the one with most time to itself counts.`;
