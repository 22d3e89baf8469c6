/** `forehear tab`: a MIDI file, or the hits of a recording, as drum tab for a patch. */

import { existsSync } from 'node:fs';
import { basename, extname } from 'node:path';
import { type Command, InvalidArgumentError } from 'commander';
import { InputError, readInput } from '../../files/inputs.ts';
import { writeWhole } from '../../files/whole-file.ts';
import { type Defect, defectSentences, whyNoHit } from '../../measure/defects.ts';
import { isDoubted } from '../../measure/doubt.ts';
import { tempoInThrees } from '../../measure/hits/grids/in-threes.ts';
import type { Tempo } from '../../measure/hits/tempo.ts';
import { counted } from '../../patch/text/counted.ts';
import { fragment, lineParts, percent } from '../../tab/fragment.ts';
import { hitsMusic } from '../../tab/hits-music.ts';
import { midiMusic } from '../../tab/midi-music.ts';
import { MidiReadError, readMidi } from '../../tab/midi-reader.ts';
import type { Music } from '../../tab/music.ts';
import { type Tab, TabError, transcribe } from '../../tab/transcribe.ts';
import { wrongFile, wrongRequest } from '../exit.ts';
import { measuredFile } from '../measure/measured-file.ts';
import { jsonOption, quietOption, tempoArgument, wholeArgument } from '../options.ts';
import { type Output, OutputOption, PATCH, planOutputs } from '../outputs.ts';
import { readLines, writeTab, writtenText } from '../reports/tab-into.ts';
import { say, sayExactly, sayJson, tell } from '../standard-output.ts';
import { unreadableWav } from '../unreadable-wav.ts';

interface Options {
  output?: string;
  force?: true;
  into?: string;
  rhythm?: string;
  pattern?: string;
  bar?: number;
  lines?: ReadonlyMap<string, string>;
  tempo?: number;
  beatsPerBar?: number;
  firstBeat?: number;
  channel?: number;
  accent: number;
  ghost: number;
  json?: true;
  quiet?: true;
}

const ACCENT = 112;
const GHOST = 50;
const MOST_BYTES = { bytes: 64 * 1024 * 1024, what: 'no MIDI file of a song is' };
const MOST_TOLD = 40;
/** s; a smaller deviation may be the tick of a MIDI file, and is not reported. */
const LEAST_TOLD = 0.002;
const MOST_BARS = 20_000;
/** Quarter notes a minute that a metronome's scale has (common practice): others are hardly counted. */
const SLOWEST = 40;
const QUICKEST = 208;
/** Quarter notes of a bar. */
const MOST_BEATS = 16;

export function register(program: Command): void {
  program
    .command('tab')
    .argument('<file>', 'MIDI file (.mid), or WAV file of something struck')
    .summary('write a MIDI file, or the hits of a recording, as drum tab')
    .description(
      'Write the strokes of a Standard MIDI File (formats 0 and 1), or the hits of a recording, as the ' +
        'patterns and song of a rhythm: on the grid that fits best, with swing, flams, ratchets, accents ' +
        'and ghost strokes. What does not fit is listed by bar and beat, and so is a line that another swing ' +
        'explains as well.',
    )
    .addOption(
      new OutputOption(
        '-o, --output <file>',
        'where the tab goes, a file that a patch takes as a part (unless set: standard output)',
      ),
    )
    .option('--force', 'overwrite a file that exists')
    .option(
      '--into <patch>',
      'write the tab into patterns of this patch; all else in it stays as it is',
    )
    .option(
      '--pattern <name>',
      'with --into: the pattern to write, new or there already (unless set: new ones of the names that the tab has)',
    )
    .option(
      '--bar <number>',
      'with --into: only this bar of the music',
      wholeArgument(1, MOST_BARS),
    )
    .option(
      '--lines <line=channel>',
      'with --into: the channel of each line of the tab, several with commas: hit=snare,clap= (unless set: that of the same name or note)',
      readLines,
    )
    .option('--rhythm <name>', 'with --into: which rhythm of the patch, if it has several')
    .option(
      '--tempo <bpm>',
      'of a recording, or a MIDI file in frames of film: quarter notes a minute',
      tempoArgument,
    )
    .option(
      '--beats-per-bar <count>',
      'of a recording: quarter notes, such as 3 or 3.5 (unless set: 4)',
      quartersArgument(0.5, MOST_BEATS),
    )
    .option(
      '--first-beat <beat>',
      'of a recording: where in a bar its first hit is, such as 2 or 4.5 (unless set: 1)',
      quartersArgument(1, MOST_BEATS + 1),
    )
    .option(
      '--channel <number>',
      'of a MIDI file: only this channel (unless set: 10 if it has notes, otherwise all)',
      wholeArgument(1, 16),
    )
    .option('--accent <velocity>', 'accents are from here on', wholeArgument(1, 128), ACCENT)
    .option('--ghost <velocity>', 'ghost strokes are up to here', wholeArgument(0, 127), GHOST)
    .addOption(jsonOption())
    .addOption(quietOption())
    .addHelpText('after', EXAMPLES)
    .action(run);
}

async function run(file: string, options: Options, command: Command): Promise<void> {
  const { output, json, quiet } = options;
  for (const name of ['accent', 'ghost'] as const)
    if (isRecording(file) && command.getOptionValueSource(name) === 'cli')
      throw wrongRequest(
        `--${name} is for MIDI files: accents and ghost strokes of a recording go by how loud its hits are.`,
      );
  if (options.ghost >= options.accent)
    throw wrongRequest(
      `--ghost ${options.ghost}: ghost strokes are softer than accents, which begin at ${options.accent}.`,
    );
  if (output === '-' && json)
    throw wrongRequest('-o -: standard output takes one thing, and --json is another.');
  requireRecording(file, options);
  requireInto(options);
  const place = output === undefined ? undefined : planned(output, options);
  const { music, tab } = await read(file, options);
  if (options.into !== undefined) return putInto(file, { music, tab }, options, options.into);
  const source = basename(file);
  const { lines, beatsPerBar } = music;
  const text = fragment({ tab, lines, beatsPerBar, source, module: 'drums' });
  if (place !== undefined) {
    writeWhole(place.path, new TextEncoder().encode(text), {
      isNew: !place.isStandard && options.force !== true,
    });
    await place.deliver();
  }
  if (json)
    sayJson({
      file: output ?? null,
      ...toldData(music, tab),
      tab: text,
    });
  else if (!quiet) {
    if (output === undefined) sayExactly(text);
    const report = reportOf(music, tab, output);
    if (output === undefined || output === '-') tell(report);
    else say(report);
  }
}

/** A MIDI file says its bars by itself. */
function requireRecording(file: string, { firstBeat, beatsPerBar }: Options): void {
  const isGiven = firstBeat !== undefined || beatsPerBar !== undefined;
  if (isGiven && !isRecording(file))
    throw wrongRequest(
      `--${firstBeat === undefined ? 'beats-per-bar' : 'first-beat'} is for recordings: a MIDI file says its own bars.`,
    );
  const length = beatsPerBar ?? 4;
  if (firstBeat !== undefined && firstBeat >= length + 1)
    throw wrongRequest(
      `--first-beat ${firstBeat}: a bar of ${length} quarter notes ends before beat ${length + 1}.`,
    );
}

/** Reads quarter notes in quarters of one, or in thirds to two decimals. */
function quartersArgument(least: number, most: number): (text: string) => number {
  return (text) => {
    const value = Number(text);
    const whole = [4, 3].map((parts) => Math.round(value * parts) / parts);
    const near = whole.find((one) => Math.abs(one - value) < 0.005);
    if (!/^\d+(\.\d+)?$/.test(text) || near === undefined || near < least || near > most)
      throw new InvalidArgumentError(
        `Quarter notes from ${least} to ${most} were expected, with parts of a quarter or a third.`,
      );
    return near;
  };
}

/** Options about a patch need --into, and exclude a file of the tab's own. */
function requireInto(options: Options): void {
  if (options.into === undefined) {
    for (const name of ['rhythm', 'pattern', 'bar', 'lines'] as const)
      if (options[name] !== undefined)
        throw wrongRequest(`--${name} goes with --into: say into which patch the tab is written.`);
    return;
  }
  if (options.output !== undefined)
    throw wrongRequest('--into writes into a patch, and -o a file of its own: give one of them.');
  if (options.force)
    throw wrongRequest(
      '--force is for -o. To write over a pattern that is there, name it with --pattern.',
    );
}

function putInto(
  source: string,
  { music, tab }: { readonly music: Music; readonly tab: Tab },
  { rhythm, pattern, bar, lines, json, quiet }: Options,
  file: string,
): void {
  const written = writeTab(tab, music.lines, { file, rhythm, pattern, bar, lines });
  if (json) sayJson({ file: source, ...toldData(music, tab), into: written });
  else if (!quiet) say([reportOf(music, tab, undefined), ...writtenText(written)].join('\n'));
}

function toldData(music: Music, tab: Tab): object {
  const { strokes, lines } = music;
  const { bpm, patterns, misfits, off } = tab;
  return {
    tempo: bpm,
    strokes: strokes.length,
    patterns: patterns.length,
    channels: lines.map(({ name }) => name),
    misfits: misfits.map(({ late, ...place }) => ({ ...place, lateSeconds: late ?? null })),
    offSeconds: off,
    remarks: remarksOf(music, tab),
  };
}

/** What is not taken over as it is, and what may as well be read otherwise. */
function remarksOf({ lines, remarks }: Music, { uneven, alike, late }: Tab): readonly string[] {
  const others = alike.map(({ bar, line, steps, share, stepsPerQuarter }) => {
    const feel = { stepsPerQuarter, share, flam: undefined };
    const { tab } = lineParts({ line, steps, share }, feel);
    return `bar ${bar}: ${lines[line]?.name} may as well be ${tab} at a swing of ${percent(share)}: the same strokes at the same times.`;
  });
  const more = others.length - MOST_TOLD;
  const told = more > 0 ? [...others.slice(0, MOST_TOLD), `and ${more} more such lines.`] : others;
  return [...remarks, ...late, ...uneven, ...told];
}

/** Where the tab goes, refused before a long recording is measured. */
function planned(path: string, { force }: Options): Output {
  const [place] = planOutputs([{ option: '-o', path, format: PATCH }]);
  if (path !== '-' && existsSync(path) && !force)
    throw wrongFile(
      path,
      'this file exists; it was left alone. Choose another with -o, or overwrite it with --force.',
    );
  return place as Output;
}

function isRecording(file: string): boolean {
  return ['.wav', '.wave'].includes(extname(file).toLowerCase());
}

async function read(
  file: string,
  options: Options,
): Promise<{ readonly music: Music; readonly tab: Tab }> {
  const isWav = isRecording(file);
  try {
    const music = isWav ? await heard(file, options) : played(file, options);
    return { music, tab: transcribe(music) };
  } catch (error) {
    if (error instanceof TabError || error instanceof MidiReadError)
      throw wrongFile(file, error.message);
    if (!isWav && error instanceof InputError)
      throw wrongFile(file, `this ${error.reason}; a MIDI file was expected.`);
    throw unreadableWav(error, file);
  }
}

function played(file: string, options: Options): Music {
  const content = readMidi(readInput(file, MOST_BYTES), options.tempo);
  if (options.tempo !== undefined && !content.isFilm)
    throw wrongRequest('--tempo is for recordings: a MIDI file says its own.');
  return midiMusic(content, options);
}

/** Faults of a recording's ends, which move no stroke; one that it begins within is told of itself. */
const OF_ENDS: readonly Defect['kind'][] = ['cut-start', 'cut-end'];

async function heard(
  file: string,
  { tempo: given, channel, beatsPerBar: bar, firstBeat, json, quiet }: Options,
): Promise<Music> {
  if (channel !== undefined)
    throw wrongRequest('--channel is for MIDI files: a recording has one line of hits.');
  const isQuiet = json === true || quiet === true;
  const { measures, defects } = await measuredFile(file, { isQuiet, hitSpectra: false });
  const { hits, tempo } = measures;
  if (hits.length === 0)
    throw new TabError(`no hits were found in it. ${whyNoHit(defects)}`.trim());
  const faults = defectSentences(defects.filter(({ kind }) => !OF_ENDS.includes(kind)));
  const bpm = given ?? tempo?.bpm;
  if (bpm === undefined)
    throw new TabError(
      [
        `${counted(hits.length, 'hit')} in it ${hits.length === 1 ? 'shows' : 'show'} no tempo: give one with --tempo.`,
        ...faults,
      ].join(' '),
    );
  const music = hitsMusic(hits, given ?? Number(bpm.toFixed(2)), { bar, firstBeat });
  const mains = hits.map(({ time, flam, drag }) => drag?.time ?? flam?.time ?? time);
  const doubts = given === undefined && tempo !== null ? doubtsOf(tempo, tempoInThrees(mains)) : [];
  return { ...music, remarks: [...faults, ...doubts, ...music.remarks] };
}

/** What a recording leaves open about its tempo. @param inThrees the tempo of equal steps as triplets. */
function doubtsOf(
  { bpm, reliability, otherBpm }: Tempo,
  inThrees: number | null,
): readonly string[] {
  if (inThrees !== null)
    return [
      `Its hits are all as far apart, which shows no quarters: in fours that is ${tempoText(bpm)}, in threes ${tempoText(inThrees)}, or half or double of these. If it is triplets, give --tempo ${inThrees.toFixed(2)}.`,
    ];
  if (!isDoubted(reliability) && otherBpm.length === 0) return octavesOf(bpm);
  const others = otherBpm.map(tempoText).join(' or ');
  const why =
    others === '' ? 'the hits show none clearly' : `${others} explains the hits about as well`;
  return [
    `The tempo of ${tempoText(bpm)} is in doubt: ${why}. If it is another, give it with --tempo.`,
    ...octavesOf(bpm),
  ];
}

/** What onsets never show: whether it is rather half or double. */
function octavesOf(bpm: number): readonly string[] {
  const own = Number(bpm.toFixed(2));
  const counted = [own / 2, 2 * own].filter((one) => one >= SLOWEST && one <= QUICKEST);
  const others = counted.map(tempoText).join(' or ');
  return [
    `Hits do not show whether a quarter note is half or twice as long: if they are counted at ${others}, give that with --tempo.`,
  ];
}

/** In the decimals that the tab itself has, so that a long recording does not drift from a tempo that is given. */
function tempoText(bpm: number): string {
  return `${bpm.toFixed(2)} bpm`;
}

function reportOf(music: Music, tab: Tab, output: string | undefined): string {
  const { misfits, off, patterns, bpm } = tab;
  const lines = [
    ...(output === undefined || output === '-' ? [] : [output]),
    `${counted(music.strokes.length, 'stroke')} on ${counted(music.lines.length, 'channel')}, ${counted(patterns.length, 'pattern')}, ${bpm} bpm.`,
    ...remarksOf(music, tab),
  ];
  const those = misfits.length > 0 ? 'The others' : 'Strokes';
  if (off >= LEAST_TOLD)
    lines.push(
      `${those} were up to ${Math.round(off * 1000)} ms off their steps, and are put on them.`,
    );
  if (misfits.length > 0) lines.push(`${counted(misfits.length, 'stroke')} did not fit the grid:`);
  for (const { line, bar, beat, late } of misfits.slice(0, MOST_TOLD)) {
    const how =
      late === undefined
        ? 'left out: the step is taken'
        : `${Math.abs(Math.round(late * 1000))} ms ${late < 0 ? 'early' : 'late'}, put on its step`;
    lines.push(`  bar ${bar}, beat ${Number(beat.toFixed(2))}: ${line}, ${how}`);
  }
  if (misfits.length > MOST_TOLD)
    lines.push(`  and ${misfits.length - MOST_TOLD} more; --json has all.`);
  return lines.join('\n');
}

const EXAMPLES = `
Examples:
  forehear tab song.mid
  forehear tab song.mid -o beat.yaml --channel 10
  forehear tab table.wav --tempo 96
  forehear tab table.wav --beats-per-bar 3 --first-beat 3.5
  forehear tab song.mid --into my-kit.yaml --pattern fill --bar 8
  forehear tab table.wav --into my-kit.yaml --lines hit=snare

The tab is a rhythm named drums, to be pasted among the modules of a patch, or kept in its own file and
named in "parts: { beat: beat.yaml }". A recording has one line, and its first hit is the first beat of a bar of
four quarters, which sound does not tell: --first-beat is for one that begins with a rest or a pick-up.
Where the hits of a recording fit another tempo about as well, the report names it, as it does half or double, which
hits never show, and triplets, which equal steps may be: --tempo says which.
With --into a bar of the music becomes a pattern of the patch, line by line: its channel is that of the same
name, or of the same note. What is unclear is refused, and nothing is written: a line that the patch has no
channel for, a pattern of another length, one that is there and was not named. Tempo and song stay.
Accents and ghost strokes of a MIDI file go by velocity (from ${ACCENT}, up to ${GHOST}), those of a recording by
level: 2.5 dB over the middle of all hits, 8 dB under it. That is a rule of thumb: a drum whose hits differ by
themselves gets accents that nobody played, so go over them. Gate lengths are not taken over.
Where all strokes of a MIDI file, or of a line, are late or early by as much, or more and more, the report says so and
the tab is as if they were on time.`;
