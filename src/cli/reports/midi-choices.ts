/** `--note`, `--channel` and `--without`: which note, which MIDI channel, and what is left out. */

import type { Option } from 'commander';
import { type Prepared, prepared } from '../../engine/prepared.ts';
import type { MidiChoices } from '../../output/score/midi-choices.ts';
import { pitchRows } from '../../output/score/row-notes.ts';
import { jackName, type Patch } from '../../patch/patch.ts';
import { nearest, someOf } from '../../patch/text/nearest.ts';
import { rhythmSettings } from '../../timing/rhythm.ts';
import { EXIT, Stop, wrongRequest } from '../exit.ts';
import { repeatableOption } from '../options.ts';

/** The values as given on the command line. */
interface ChoiceWords {
  readonly note?: readonly string[];
  readonly channel?: readonly string[];
  readonly without?: readonly string[];
}

export function noteOption(beside: string): Option {
  return repeatableOption(
    '--note <name=number>',
    `with ${beside}: the MIDI note of a channel of the rhythm, 0 to 127, such as kick=36`,
    'by its name',
  );
}

export function channelOption(): Option {
  return repeatableOption(
    '--channel <name=number>',
    'with --midi: the MIDI channel of a channel of the rhythm, or of the row of a step sequencer, 1 to 16, such as snare=10 or walk.pitch=2',
    'strokes 10, rows the others in turn',
  );
}

export function withoutOption(): Option {
  return repeatableOption(
    '--without <name>',
    'with --midi: leave out a channel of the rhythm, or a row, such as snare or walk.pitch',
  );
}

/**
 * Finds what the words name.
 * @throws Stop for a name that the patch does not have, a number out of range, and a name given twice.
 */
export function midiChoices(of: Patch | Prepared, words: ChoiceWords): MidiChoices {
  const whole = prepared(of);
  const { note = [], channel = [], without = [] } = words;
  if (note.length + channel.length + without.length === 0)
    return { notes: new Map(), channels: new Map(), without: new Set() };
  const strokes = whole.patch.modules.flatMap(({ name: module, definition, settings }) =>
    definition.role === 'score'
      ? rhythmSettings(settings).channels.map(({ name: jack }) => ({ module, jack }))
      : [],
  );
  const rows =
    channel.length + without.length === 0 ? [] : pitchRows(whole).map(({ jack }) => jack);
  const all = [...strokes, ...rows];
  const find = (option: string, name: string, among: typeof all): string => {
    const found = among.filter((jack) => jackName(jack) === name || jack.jack === name);
    const [one, other] = found.filter((jack) => found.length === 1 || jackName(jack) === name);
    if (one !== undefined && other === undefined) return jackName(one);
    if (found.length > 1)
      throw wrongRequest(
        `${option} ${name}: that may be ${found.map(jackName).join(' or ')}. Give its whole name.`,
      );
    const names = among.map(jackName);
    const near = nearest(name, [...names, ...among.map(({ jack }) => jack)]);
    const message = `${option} ${name}: there is no such channel${among === all ? ' or row' : ''}`;
    const expected = `there ${names.length === 1 ? 'is' : 'are'} ${someOf(name, names, '"forehear timing" shows all') || 'none'}`;
    const hint = near === undefined ? ` There ${expected.slice(6)}.` : ` Did you mean ${near}?`;
    throw new Stop(EXIT.request, `${message}.${hint}`, [
      { code: 'request', message, expected, nearest: near },
    ]);
  };
  const numbers = (
    option: string,
    texts: readonly string[],
    among: typeof all,
    [least, most]: readonly [number, number],
  ): ReadonlyMap<string, number> => {
    const found = new Map<string, number>();
    for (const text of texts) {
      const [, name = '', digits = ''] = /^(.*?)\s*=\s*(.*)$/.exec(text) ?? [];
      const number = Number(digits);
      if (name === '' || !/^\d+$/.test(digits) || number < least || number > most)
        throw wrongRequest(
          `${option} ${text}: a name and a whole number from ${least} to ${most} were expected, such as ${option} ${among[0]?.jack ?? 'kick'}=${least + 9}.`,
        );
      const jack = find(option, name, among);
      if (found.has(jack)) throw wrongRequest(`${option}: ${jack} is there twice. Name it once.`);
      found.set(jack, number);
    }
    return found;
  };
  const choices = {
    notes: numbers('--note', note, strokes, [0, 127]),
    channels: numbers('--channel', channel, all, [1, 16]),
    without: new Set(without.map((name) => find('--without', name, all))),
  };
  for (const jack of choices.without)
    for (const [option, chosen] of [
      ['--note', choices.notes],
      ['--channel', choices.channels],
    ] as const)
      if (chosen.has(jack))
        throw wrongRequest(`--without leaves out ${jack}, and ${option} chooses for it: give one.`);
  if (without.length > 0 && all.every((jack) => choices.without.has(jackName(jack))))
    throw wrongRequest('--without: all channels and rows are left out, so nothing is written.');
  return choices;
}

/**
 * Says which channels cannot be told apart by their notes.
 * @param strokes a channel of a rhythm each, once; all on one MIDI channel unless they have their own.
 */
export function sameNotes(
  strokes: readonly { readonly jack: string; readonly note: number; readonly channel?: number }[],
): readonly string[] {
  const byNote = new Map<string, string[]>();
  for (const { jack, note, channel } of strokes) {
    const place = `note ${note}${channel === undefined ? '' : ` on channel ${channel}`}`;
    byNote.set(place, [...(byNote.get(place) ?? []), jack]);
  }
  return [...byNote]
    .filter(([, jacks]) => jacks.length > 1)
    .map(
      ([place, jacks]) =>
        `${jacks.join(' and ')} are ${jacks.length === 2 ? 'both' : 'all'} ${place}: whoever plays them cannot tell them apart. Choose other notes with --note, or in the patch.`,
    );
}
