/** `forehear timing`: what happens on the wires, and when. */

import { type Command, Option } from 'commander';
import type { Happening } from '../../engine/happening.ts';
import { type Prepared, prepared } from '../../engine/prepared.ts';
import { sentEdges, trace } from '../../engine/trace.ts';
import { USUAL_RATE } from '../../engine/usual-rate.ts';
import { listed } from '../../findings/words.ts';
import {
  CAUTION,
  type GatesFile,
  gatesIn,
  TooManyVolts,
  writeGates,
} from '../../output/score/gates-wav.ts';
import { NotesListener } from '../../output/score/heard-notes.ts';
import { MidiError } from '../../output/score/midi-bytes.ts';
import { type MidiFile, midiFile } from '../../output/score/midi-file.ts';
import { scoreCsv } from '../../output/score/score-csv.ts';
import { barsScored, MOST_BARS, type ScoreOptions, scoreOf } from '../../output/score/score-of.ts';
import { MOST_DRAWN, scoreSvg } from '../../output/score/score-svg.ts';
import { LEGEND, scoreText } from '../../output/score/score-text.ts';
import {
  ANSWER_HEADS,
  barsPlayed,
  scoreWords,
  shortNumber,
} from '../../output/score/score-words.ts';
import type { TimeScore } from '../../output/score/time-score.ts';
import { type JackRef, jackName, type Patch, type PatchModule } from '../../patch/patch.ts';
import { counted } from '../../patch/text/counted.ts';
import { jsonText } from '../../text/printable.ts';
import { playedSeconds } from '../../timing/length.ts';
import { isFollowing, rhythmSettings, tempoLeaders } from '../../timing/rhythm.ts';
import { Ruler } from '../../timing/ruler.ts';
import { wrongFile, wrongRequest } from '../exit.ts';
import {
  barsOption,
  jackArgument,
  jsonOption,
  lengthAsked,
  PATCH_HELP,
  quantityArgument,
  quietOption,
  rackOption,
  rateOption,
  secondsOption,
  setOption,
  voltsArgument,
} from '../options.ts';
import { forceOption, MIDI, type Output, OutputOption, planOutputs, SVG, WAV } from '../outputs.ts';
import { readPatchFile } from '../read-patch.ts';
import {
  channelOption,
  midiChoices,
  noteOption,
  sameNotes,
  withoutOption,
} from '../reports/midi-choices.ts';
import { print, say, tell } from '../standard-output.ts';
import { table, wrapped } from '../table.ts';

interface Options {
  bars?: number;
  seconds?: number;
  rate: number;
  csv?: true;
  wires?: true;
  svg?: string;
  midi?: string;
  wav?: string;
  force?: true;
  fullScale: number;
  calibration: number | readonly number[];
  jacks?: string;
  note: string[];
  channel: string[];
  without: string[];
  rack?: string;
  set: string[];
  json?: true;
  quiet?: true;
}

export function register(program: Command): void {
  program
    .command('timing')
    .argument('<patch>', PATCH_HELP)
    .summary('print a score of time: gates, clocks, followers, envelopes')
    .description(
      'Print what happens on the wires against bars and steps: gates, clocks, resets, the steps of ' +
        'followers, the phases of envelopes, and how late each trigger input answers.',
    )
    .addOption(barsOption())
    .addOption(secondsOption())
    .addOption(rateOption())
    .addOption(
      new Option('--csv', 'print every edge that the rhythm sends, a line each').conflicts('json'),
    )
    .option('--wires', 'with --csv: also what inputs notice, and what followers and envelopes do')
    .addOption(new OutputOption('--svg <file>', 'draw the score as a chart'))
    .addOption(
      new OutputOption(
        '--midi <file>',
        'write the strokes, and the rows that a pitch follows, as a Standard MIDI File',
      ),
    )
    .addOption(
      new OutputOption(
        '--wav <file>',
        'write the gates and the clock as volts, for a DC-coupled interface',
      ),
    )
    .addOption(forceOption())
    .option(
      '--full-scale <volts>',
      'with --wav: what the interface gives at full scale',
      voltsArgument,
      10,
    )
    .option(
      '--calibration <factor>',
      'with --wav: volts wanted / volts measured at the interface; one, or one a channel, 1.02,0.99',
      factorsArgument,
      1,
    )
    .option(
      '--jacks <jacks>',
      'with --wav: the outputs for its channels in their order, such as drums.kick,drums.kick-accent,steps.pitch; ' +
        'unless given, the gates of the rhythm',
    )
    .addOption(noteOption('--midi'))
    .addOption(channelOption())
    .addOption(withoutOption())
    .addOption(rackOption())
    .addOption(setOption())
    .addOption(jsonOption())
    .addOption(quietOption())
    .addHelpText('after', EXAMPLES)
    .action(run);
}

async function run(file: string, options: Options, command: Command): Promise<void> {
  requireTheirs(options, command);
  const patch = readPatchFile(file, options.set, options.rack);
  const all = prepared(patch);
  const [rhythm] = tempoLeaders(patch);
  if (rhythm === undefined)
    throw wrongFile(
      file,
      `the patch has no rhythm sequencer, so there are no bars to write a score in. Add a module of kind rhythm.`,
    );
  const { rate: sampleRate } = options;
  const length = lengthAsked(options);
  const happened: Happening[] = [];
  const seconds = playedSeconds(patch, length);
  const play: Play = {
    ...{ sampleRate, seconds },
    ...((options.json || options.wires) && { onHappening: (one) => happened.push(one) }),
  };

  const { midi, wav, svg } = outputsOf(options);
  const choices = midiChoices(all, options);
  const isChosen = choices.notes.size + choices.channels.size + choices.without.size > 0;
  if (isChosen && midi === undefined)
    throw wrongRequest('--note, --channel and --without are of --midi: say which file with it.');
  // Everything that can be refused is checked before the first file is written.
  const listener = midi && new NotesListener(all, seconds);
  // What is written and what is printed take one play, where both are of one rate.
  const isShared = listener?.isNeeded === true && sampleRate === USUAL_RATE;
  const listened = isShared ? heardBy(listener, play) : play;
  const score = svg
    ? scoreToDraw(all, rhythm, listened)
    : isShared && (options.json || options.wires)
      ? shortScore(all, rhythm, listened, false)
      : undefined;
  const heard = score && isShared ? listener.finish() : undefined;
  const made = midi && madeMidi(rhythm, () => midiFile(all, seconds, choices, heard));
  const notes: Notes = made ?? NO_NOTES;
  const gates = wav === undefined ? undefined : await writeWav(wav.path, all, play, options);
  if (midi !== undefined && made !== undefined) midi.write(made.bytes);
  if (svg !== undefined && score !== undefined) svg.write(scoreSvg(score));
  for (const output of [midi, wav, svg]) await output?.deliver();

  /** All that happens; played once more only where no score was, since it would be too long. */
  const happenings = (known: TimeScore | undefined): Iterable<Happening> =>
    known === undefined ? trace(all, play) : happened;
  if (options.csv)
    return print(
      scoreCsv(options.wires ? happenings(score) : sentEdges(all, play), options.wires === true),
    );
  if (options.json) {
    const known = score ?? shortScore(all, rhythm, play, false);
    const summary = summaryOf(known);
    const files = [midi, wav, svg].flatMap((output) => output?.path ?? []);
    const written = {
      ...(midi !== undefined && { midiStrokes: notes.strokes, midiRows: notes.rows }),
      ...(gates !== undefined && { wavChannels: gates.channels, wavPeak: gates.peak }),
    };
    return print(asJson({ sampleRate, files, summary, ...written }, happenings(known)));
  }
  if (options.quiet) return;
  const written = [svg, midi].filter((output) => output !== undefined);
  for (const { path, isStandard } of written) if (!isStandard) say(path);
  describeNotes(notes, midi?.isStandard === true);
  for (const words of made === undefined ? [] : chancesText(patch, choices.without)) tell(words);
  if (gates !== undefined && wav !== undefined) describeGates(gates, wav, play);
  else if (written.length === 0) say(asText(scored(all, rhythm, play, false)));
}

/** Refuses options of one output where that output is not asked for. */
function requireTheirs({ csv, wires, wav, midi, svg, force }: Options, command: Command): void {
  if (force && (wav ?? midi ?? svg) === undefined)
    throw wrongRequest('--force is of --svg, --midi and --wav: say which file with one of them.');
  if (wires && !csv) throw wrongRequest('--wires is of --csv: give that too.');
  if (wav !== undefined) return;
  for (const name of ['jacks', 'fullScale', 'calibration'] as const)
    if (command.getOptionValueSource(name) === 'cli')
      throw wrongRequest(
        `--${name === 'fullScale' ? 'full-scale' : name} is of --wav: say which file with it.`,
      );
}

/** The files to write, by option. @throws Stop for an output that cannot be written. */
function outputsOf(options: Options): { readonly [K in 'midi' | 'wav' | 'svg']?: Output } {
  const { midi, wav, svg } = options;
  const wanted = [
    ...(midi === undefined ? [] : [{ option: '--midi', path: midi, format: MIDI }]),
    ...(wav === undefined ? [] : [{ option: '--wav', path: wav, format: WAV }]),
    ...(svg === undefined ? [] : [{ option: '--svg', path: svg, format: SVG }]),
  ];
  const standard = wanted.find(({ path }) => path === '-');
  if (standard !== undefined && (options.csv || options.json))
    throw wrongRequest(
      `${standard.option} -: standard output takes one thing, and ${options.csv ? '--csv' : '--json'} is another.`,
    );
  const outputs = planOutputs(wanted, options.force);
  return Object.fromEntries(
    wanted.map(({ option }, index) => [option.slice(2), outputs[index] as Output]),
  );
}

/** More than any interface has outputs (common practice, no source). */
const MOST_CHANNELS = 64;

const factor = quantityArgument({ type: 'number', min: 0.5, max: 2, fallback: 1.02, about: '' });

/** One factor, or several with commas between. */
function factorsArgument(text: string): number | readonly number[] {
  const factors = text.split(',').map((one) => factor(one.trim()));
  return factors.length === 1 ? (factors[0] as number) : factors;
}

/** What is played, and who is told what happens. */
type Play = Omit<ScoreOptions, 'curves'>;

type Notes = Omit<MidiFile, 'bytes'>;
const NO_NOTES: Notes = { strokes: [], rows: [] };

/** The same play, told to a listener too. */
function heardBy(listener: NotesListener, play: Play): Play {
  return {
    ...play,
    listener,
    onHappening: (one) => {
      listener.onHappening(one);
      play.onHappening?.(one);
    },
  };
}

/** @throws Stop for a tempo that no MIDI file holds. */
function madeMidi(rhythm: PatchModule, make: () => MidiFile): MidiFile {
  try {
    return make();
  } catch (error) {
    if (!(error instanceof MidiError)) throw error;
    throw wrongFile(rhythm.settingPlaces.get('tempo') ?? rhythm.place, error.message);
  }
}

/** Prints which notes and rows the MIDI file has, and where their notes are not as heard. */
function describeNotes({ strokes, rows }: Notes, isStandard: boolean): void {
  const speak = isStandard ? tell : say;
  for (const { jack, note, channel } of strokes)
    speak(`  ${jack}: note ${note} on channel ${channel}`);
  for (const words of sameNotes(strokes)) tell(words);
  for (const words of silentTracks([...strokes, ...rows])) tell(words);
  for (const { jack, channel, notes, rounded, mostCents, beyond } of rows) {
    speak(`  ${jack}: ${counted(notes, 'note')} on a track of its own, channel ${channel}`);
    if (rounded > 0)
      speak(
        `    ${rounded} of them between two notes of MIDI: the nearer one is written, up to ${mostCents.toFixed(0)} cents off`,
      );
    if (beyond > 0)
      speak(`    ${counted(beyond, 'note')} lower or higher than MIDI has any: left out`);
  }
}

/** Tracks without a note: a person who imports the file would otherwise look for a mistake. */
function silentTracks(
  tracks: readonly { readonly jack: string; readonly notes: number }[],
): readonly string[] {
  const silent = tracks.flatMap(({ jack, notes }) => (notes === 0 ? [jack] : []));
  if (silent.length === 0) return [];
  return silent.length === tracks.length
    ? ['no note is in the file, since nothing plays in this time']
    : [`no note of ${listed(silent)} is in the file, since nothing plays there in this time`];
}

/** Strokes left to chance are fixed in a file: which they are, and the seed, since another gives others. */
function chancesText({ modules, seed }: Patch, without: ReadonlySet<string>): readonly string[] {
  const channels = modules.flatMap(({ name, definition, settings }) => {
    if (definition.role !== 'score') return [];
    const { channels, patterns, song } = rhythmSettings(settings);
    const lines = song.flatMap(({ pattern }) => patterns[pattern]?.lines ?? []);
    const chancy = new Set(
      lines.flatMap(({ channel, steps }) => (steps.some(({ maybe }) => maybe) ? [channel] : [])),
    );
    return channels.flatMap((one, index) => (chancy.has(index) ? [`${name}.${one.name}`] : []));
  });
  const written = channels.filter((jack) => !without.has(jack));
  if (written.length === 0) return [];
  return [
    `the strokes of ${listed(written)} that are left to chance are written as they fall with seed "${seed}": the file always has these`,
  ];
}

async function writeWav(
  path: string,
  of: Prepared,
  play: Play,
  { fullScale, calibration, jacks }: Options,
): Promise<GatesFile> {
  const wanted = jacks === undefined ? undefined : jacksAsked(jacks, of.patch);
  const count = wanted?.length ?? gatesIn(of.patch).length;
  if (typeof calibration !== 'number' && calibration.length !== count)
    throw wrongRequest(
      `--calibration has ${calibration.length} factors and the file has ${counted(count, 'channel')}. Give one factor for all, or one for each.`,
    );
  try {
    return await writeGates(of, {
      path,
      ...play,
      fullScale,
      calibration,
      ...(wanted && { jacks: wanted }),
    });
  } catch (error) {
    throw error instanceof TooManyVolts ? wrongRequest(`--wav: ${error.message}`) : error;
  }
}

/** Outputs by name; an input's volts belong to the output that drives it. */
function jacksAsked(text: string, patch: Patch): readonly JackRef[] {
  const words = text.split(',').map((one) => one.trim());
  if (words.includes(''))
    throw wrongRequest(
      `--jacks ${text}: a name is missing. Outputs were expected with commas between, such as drums.kick,drums.clock.`,
    );
  const jacks = words.map((one) => jackArgument(one, patch, '--jacks'));
  const names = jacks.map(jackName);
  const twice = names.find((name, index) => names.indexOf(name) !== index);
  if (twice !== undefined) throw wrongRequest(`--jacks: ${twice} is there twice. Name it once.`);
  if (jacks.length > MOST_CHANNELS)
    throw wrongRequest(
      `--jacks: ${jacks.length} are more than the ${MOST_CHANNELS} channels that a file is made for.`,
    );
  for (const { module, jack } of jacks) {
    const one = patch.modules.find(({ name }) => name === module);
    if (one?.jacks.find(({ name }) => name === jack)?.direction === 'in')
      throw wrongRequest(
        `--jacks: ${module}.${jack} is an input. Name the output whose place the interface takes.`,
      );
  }
  return jacks;
}

function scoreToDraw(of: Prepared, rhythm: PatchModule, play: Play): TimeScore {
  const settings = rhythmSettings(rhythm.settings);
  // What follows pulses may be given fewer than it expects: its bars are known once it is played.
  if (!isFollowing(of.patch, rhythm)) requireDrawable(barsScored(settings, play.seconds));
  const score = scored(of, rhythm, play, true);
  requireDrawable(score.bars.length);
  return score;
}

function requireDrawable(bars: number): void {
  if (bars > MOST_DRAWN)
    throw wrongRequest(
      `--svg draws at most ${MOST_DRAWN} bars, and this would be ${bars} or more. Say how many with --bars.`,
    );
}

/** @throws Stop for more bars than anyone looks at: a score is held in memory. */
function scored(of: Prepared, rhythm: PatchModule, play: Play, curves: boolean): TimeScore {
  const score = shortScore(of, rhythm, play, curves);
  if (score === undefined)
    throw wrongRequest(
      `${shortNumber(play.seconds)} s are more than ${MOST_BARS} bars, more than a score can show. Say how many with --bars, or take --csv or --json.`,
    );
  return score;
}

/** The score, unless it is too long to be held in memory. */
function shortScore(
  of: Prepared,
  rhythm: PatchModule,
  play: Play,
  curves: boolean,
): TimeScore | undefined {
  const most = new Ruler(rhythmSettings(rhythm.settings)).timeOfBar(MOST_BARS + 1);
  return play.seconds > most ? undefined : scoreOf(of, { ...play, curves });
}

function asText(score: TimeScore): string {
  const { title, seconds, ruler, sampleRate, answers } = score;
  const words = scoreWords(score);
  const head = `${title}: ${shortNumber(seconds)} s, ${counted(barsPlayed(score), 'bar')} of ${counted(ruler.beats, 'quarter')}, at ${sampleRate / 1000} kHz`;
  const sentences = [...words.followers, ...words.meetings];
  return [
    head,
    scoreText(score, Math.min(process.stdout.columns ?? NARROW, WIDEST)),
    LEGEND,
    ...(answers.length === 0 ? [] : [table([ANSWER_HEADS, ...words.answers])]),
    ...(sentences.length === 0 ? [] : [sentences.map(wrapped).join('\n')]),
  ].join('\n\n');
}

function describeGates(
  { path, channels, frames, peak }: GatesFile,
  { isStandard }: Output,
  { sampleRate }: Play,
): void {
  const speak = isStandard ? tell : say;
  speak(
    `${isStandard ? 'standard output' : path}\n  ${shortNumber(frames / sampleRate)} s, ${sampleRate / 1000} kHz, 24 bit, peak ${peak.toFixed(3)} of full scale`,
  );
  const rows = channels.map(({ jack, leastVolts, mostVolts, calibration }, index) => [
    `channel ${index + 1}`,
    jack,
    `${shortNumber(leastVolts)} to ${shortNumber(mostVolts)} V`,
    ...(calibration === 1 ? [] : [`x ${calibration}`]),
  ]);
  speak(table(rows, 2));
  tell(CAUTION);
}

/** What the text says below the score, as data; null where there are more bars than a score can show. */
function summaryOf(score: TimeScore | undefined): object | null {
  if (score === undefined) return null;
  const { title, seconds, ruler, sections, answers, followers, meetings, heard } = score;
  return {
    title,
    seconds,
    bars: barsPlayed(score),
    quartersInBar: ruler.beats,
    sections,
    answers: answers.map(({ sent, latency, ...answer }) => ({
      ...answer,
      sent: sent ?? null,
      latency: latency ?? null,
    })),
    followers: followers.map(({ atBars, clocks, meets, ...follower }) => ({
      ...follower,
      atBars: atBars.map(({ bar, position }) => ({ bar, position: position ?? null })),
      clocks: clocks ?? null,
      meets: meets ?? null,
    })),
    meetings,
    ...(heard && { heard: { ...heard, bpm: heard.bpm ?? null } }),
  };
}

/**
 * The shape that scripts rely on, in pieces of one line; bars and steps are null for an event outside of them.
 * @param head what stands before the events.
 */
function* asJson(head: object, happenings: Iterable<Happening>): Generator<string> {
  let piece = `${jsonText(head).slice(0, -1)},"events":[`;
  let comma = '';
  for (const { time, sample, jack, edge, volts, bar, step, ...more } of happenings) {
    const event = {
      time,
      sample,
      jack,
      edge,
      volts,
      bar: bar ?? null,
      step: step ?? null,
      ...more,
    };
    piece += comma + jsonText(event);
    comma = ',';
    if (piece.length > PIECE) {
      yield piece;
      piece = '';
    }
  }
  yield `${piece}]}\n`;
}

/** Columns where the terminal's width is not known. */
const NARROW = 80;
/** Columns; a wider bar could not be taken in at a glance. */
const WIDEST = 132;
/** Characters in a piece of output. */
const PIECE = 65_536;

const EXAMPLES = `
Examples:
  forehear timing patches/bass-line.yaml
  forehear timing my-kit.yaml --bars 4 --svg renders/my-kit.svg
  forehear timing my-kit.yaml --seconds 36000 --csv > edges.csv
  forehear timing my-kit.yaml --midi renders/my-kit.mid
  forehear timing patches/bass-line.yaml --midi bass.mid --without again --note kick=35 --channel walk.pitch=2
  forehear timing my-kit.yaml --wav renders/gates.wav --full-scale 10V --calibration 1.02
  forehear timing patches/bass-line.yaml --wav renders/four.wav --jacks walk.pitch,walk.gate,drums.kick,drums.clock

${CAUTION}`;
