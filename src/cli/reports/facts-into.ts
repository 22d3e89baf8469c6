/** `measure --as-volts --into`: what a recording shows of an output jack, written into a rack's file. */

import { replaceTexts } from '../../files/whole-file.ts';
import { inTime } from '../../findings/spoken.ts';
import { isInverted } from '../../measure/pulses/inverted.ts';
import type { PulseMeasures } from '../../measure/pulses/pulses.ts';
import { KINDS } from '../../modules/kinds.ts';
import { applyEdits } from '../../patch/edit/edit.ts';
import { OUTPUT_FACTS, PULSE_FACTS } from '../../patch/rack/jacks.ts';
import type { Rack } from '../../patch/rack/rack.ts';
import { readRack } from '../../patch/rack/read-rack.ts';
import { nearest } from '../../patch/text/nearest.ts';
import { formatValue, parseValue } from '../../patch/units.ts';
import { wrongFile, wrongRequest } from '../exit.ts';
import { rackOfFile } from '../read-rack.ts';
import { type Replaced, replacedIn, replacedText, saidIn, standing } from './replaced-facts.ts';

/** How exact the measured levels are promised to be, as a share of the swing. */
const LEVELS_OFF = 0.01;
/** Pulses whose lengths differ by more than this share are not of one width. */
const ONE_WIDTH = 0.1;

/** What was written where, and what the recording does not show. */
export interface WrittenFacts {
  readonly file: string;
  readonly unit: string;
  readonly jack: string;
  /** As the rack has them now, by its key words: `high` and so on. */
  readonly facts: Readonly<Record<string, string>>;
  /** Each is a sentence without its full stop. */
  readonly untold: readonly string[];
}

/** What was written, and what the rack said before. */
export interface MergedFacts extends WrittenFacts {
  readonly replaced: readonly Replaced[];
  /** Facts that the rack has more exactly, and that stay; each is a sentence without its full stop. */
  readonly kept: readonly string[];
}

/** The facts that a recording shows of the jack it was made at, as a rack writes them. */
export function factsOf(measures: PulseMeasures): Pick<WrittenFacts, 'facts' | 'untold'> {
  const { coupling, levels, swing, width, riseTime, clipped } = measures;
  const facts: Record<string, string> = {};
  const untold: string[] = [];
  if (levels === undefined)
    untold.push(
      coupling === 'capacitor'
        ? 'no level: a capacitor was in the way, so the recording does not show the volts of the pulses'
        : 'no level: it is too short or too noisy to tell whether a capacitor was in the way',
    );
  else if (clipped > 0)
    untold.push('no level: it is clipped at full scale, and the volts are higher than it shows');
  else
    for (const word of ['high', 'low'] as const)
      facts[word] = `${inVolts(levels[word])} +- ${inVolts(LEVELS_OFF * swing)}`;
  if (riseTime === undefined) untold.push('no rise: it is faster than the recording shows');
  else facts.rise = inTime(riseTime);
  const { median = 0, least = 0, most = 0 } = width ?? {};
  const off = Math.max(most - median, median - least);
  if (width === undefined) untold.push('no width: the ends of the pulses are not in it');
  else if (off > ONE_WIDTH * median) untold.push('no width: its pulses are not all as long');
  else facts.width = `${inTime(median)}${off > 0.001 * median ? ` +- ${inTime(off)}` : ''}`;
  return { facts, untold };
}

/**
 * Writes all of the facts into a rack, or none; comments and layout stay, and so does what the rack has more exactly
 * and a tolerance that a recording does not tell.
 * @param at the jack as `UNIT.JACK`.
 * @throws Stop if there is no such rack, unit or jack, or nothing to write.
 */
export function writeFacts(file: string, at: string, measures: PulseMeasures): MergedFacts {
  const { rack, text } = rackOfFile(file);
  const dot = at.indexOf('.');
  const [name, jack] = [at.slice(0, dot), at.slice(dot + 1)];
  const unit = rack.units.find((one) => one.name === name);
  if (dot < 1 || jack === '' || unit === undefined) {
    const names = rack.units.map((one) => one.name);
    const near = nearest(dot < 1 ? at : name, names);
    throw wrongRequest(
      `--jack ${at}: a unit of ${file} and its jack were expected, such as ${near ?? names[0] ?? 'clock'}.out.`,
    );
  }
  if (measures.width === undefined && measures.cornerHz === undefined)
    throw wrongRequest(
      '--into: no pulse in this recording is whole: it is too short. Record several pulses, from before the first on. Nothing is written.',
    );
  if (isInverted(measures))
    throw wrongRequest(
      '--into: this rests high and goes low for each pulse, so it is upside down, as behind an inverting input. Turn its polarity over and record again, or record a clock that has stopped high while it runs. Nothing is written.',
    );
  const { facts: shown, untold } = factsOf(measures);
  const { facts, kept } = merged(rack, { unit: name, jack }, shown);
  let changed = text;
  for (const [fact, value] of Object.entries(facts)) {
    const path = ['units', name, 'jacks', jack, fact];
    const next = applyEdits(file, changed, [{ type: 'set-value', file, path, text: value }]);
    if (next === undefined)
      throw wrongFile(
        file,
        `what it says of ${at} cannot be changed in place: write jacks: { ${jack}: { ${fact}: ${value} } }.`,
      );
    changed = next;
  }
  if (Object.keys(shown).length === 0)
    throw wrongRequest(`--into: this recording tells ${untold.join('; ')}. Nothing is written.`);
  const { rack: after, problems } = readRack(changed, { file, kinds: KINDS });
  const [wrong] = problems;
  if (wrong !== undefined)
    throw wrongRequest(
      `--jack ${at}: ${wrong.message}${wrong.expected === undefined ? '' : `; expected ${wrong.expected}`}. Nothing is written.`,
    );
  if (changed !== text) replaceTexts([{ path: file, before: text, after: changed }]);
  const written = Object.keys(facts).map((fact) => ({ unit: name, jack, fact }));
  const replaced = replacedIn(rack, after, written).map(({ fact, before, after, standing }) => ({
    fact,
    before,
    after,
    standing,
  }));
  return { file, unit: name, jack, facts, untold, replaced, kept };
}

/** What is written of what a recording shows, beside what the rack says already. */
function merged(
  rack: Rack,
  at: { readonly unit: string; readonly jack: string },
  shown: Readonly<Record<string, string>>,
): Pick<MergedFacts, 'facts' | 'kept'> {
  const facts: Record<string, string> = {};
  const kept: string[] = [];
  for (const [fact, text] of Object.entries(shown)) {
    const before = saidIn(rack, { ...at, fact });
    const [value = '', off] = text.split(PLUS_MINUS);
    const now = numberOf(value, fact);
    if (before?.doubt === undefined || now === undefined) {
      facts[fact] = text;
      continue;
    }
    const doubt = off === undefined ? undefined : numberOf(off, fact);
    const after = { text, value: now, isShare: false, doubt };
    const how = standing(before, after);
    if (how === 'less sure')
      kept.push(`${fact}: ${before.text}, which the rack has, is surer than ${text} as recorded`);
    else if (doubt === undefined && !before.isShare && before.doubt < Math.abs(now))
      facts[fact] = `${value}${PLUS_MINUS}${before.text.split(PLUS_MINUS)[1]}`;
    else facts[fact] = text;
  }
  return { facts, kept };
}

const PLUS_MINUS = ' +- ';

function numberOf(words: string, fact: string): number | undefined {
  const spec = { ...OUTPUT_FACTS, ...PULSE_FACTS }[fact];
  if (spec === undefined) return undefined;
  // A tolerance may be smaller than its value can.
  const reading = parseValue(words, { ...spec, min: Math.min(0, spec.min) }, fact);
  return reading.fault === undefined ? reading.value : undefined;
}

/** Words for what was written. */
export function factsText({
  file,
  unit,
  jack,
  facts,
  untold,
  replaced,
  kept,
}: MergedFacts): readonly string[] {
  const words = Object.entries(facts).map(([word, value]) => `${word}: ${value}`);
  return [
    words.length === 0
      ? `into ${file}, ${unit}.${jack}: nothing, it is all there already`
      : `into ${file}, units: ${unit}: jacks: ${jack}: { ${words.join(', ')} }`,
    ...replaced.map(replacedText),
    ...kept.map((one) => `kept: ${one}`),
    ...untold.map((one) => `not written: ${one}`),
    ...(facts.high === undefined
      ? []
      : ['the levels were measured with the recording input plugged in, and its load lowers them']),
  ];
}

/** To the millivolt. */
function inVolts(value: number): string {
  return formatValue(Math.round(1000 * value) / 1000 + 0, 'voltage');
}
