/** Rhythms that use everything a rhythm sequencer has, each key word in one of the ways to write it. */

import fc from 'fast-check';

type Own = Readonly<Record<string, string>>;

const CHANNELS = ['hit', 'low', 'bell-2'];

const percent = fc
  .integer({ min: 0, max: 100 })
  .chain((value) =>
    fc.constantFrom(`${value} %`, `${value}%`, `${value}.250 %`.replace('100.25', '100.00')),
  );
const swing = fc.constantFrom('50 %', '66.667 %', '58.3%', '75 %');
/** Shorter than any step below. */
const flam = fc.constantFrom('22 ms', '0.0125 s', '1234.5 us', '9ms');
const gate = fc.constantFrom('8 ms', '50 %', '0.4 ms', '133.3333 %', '400 us', '0.02s');
const tempo = fc.constantFrom('92 bpm', '120bpm', '133.33 bpm', '61.5 bpm');
const clock = fc.constantFrom('2 per quarter', '1 per step', '24  per quarter');

/** Some of the words, or none. */
function some(words: Readonly<Record<string, fc.Arbitrary<string>>>): fc.Arbitrary<Own> {
  return fc.record(words, { requiredKeys: [] }) as fc.Arbitrary<Own>;
}

const feel = some({ tempo, swing, chance: percent, flam, clock });
const tab = fc
  .array(fc.constantFrom(...'xXg-f?2345678'), { minLength: 1, maxLength: 20 })
  .chain((signs) =>
    fc.constantFrom(signs.join(''), signs.join(' '), `| ${signs.join('')} |`, `${signs.join('|')}`),
  );

const line = fc
  .record({
    steps: tab,
    own: some({ chance: percent, flam, gate, swing }),
    at: fc.array(fc.record({ step: fc.nat(19), own: some({ chance: percent, flam, gate }) }), {
      maxLength: 4,
    }),
    isShort: fc.boolean(),
  })
  .map(({ steps, own, at, isShort }) => {
    if (isShort) return steps;
    const signs = steps.replace(/[\s|]/g, '');
    const singles: Record<string, Own> = {};
    for (const { step, own: words } of at) {
      const sign = signs[step % signs.length] as string;
      const { flam: spacing, ...others } = words;
      // A rest has nothing of its own, and several strokes have no flam.
      if (sign === '-') continue;
      singles[1 + (step % signs.length)] =
        spacing === undefined || /[2-8]/.test(sign) ? others : { ...others, flam: spacing };
    }
    return { steps, ...own, ...(Object.keys(singles).length > 0 && { at: singles }) };
  });

const lines = fc.record(Object.fromEntries(CHANNELS.map((name) => [name, line])), {
  requiredKeys: ['hit'],
});
const pattern = fc
  .record({
    feel,
    lines,
    more: fc.record(
      {
        'steps-per-quarter': fc.constantFrom('1', '3', '4', '6'),
        length: fc.constantFrom('1', '7', '16', '33'),
      },
      { requiredKeys: [] },
    ),
  })
  .map(({ feel: own, lines: played, more }) => ({ ...more, ...own, ...played }));

/** The map of a module of kind `rhythm`, whose channels are `hit` and others. */
export const randomRhythm: fc.Arbitrary<object> = fc
  .record({
    own: feel,
    more: some({
      gate,
      level: fc.constantFrom('5 V', '4800 mV', '10.5V'),
      'accent-level': fc.constantFrom('2.5 V', '0 V'),
      'ghost-level': fc.constantFrom('-2.5 V', '0 V', '1 V'),
      'grace-level': fc.constantFrom('-1.25 V', '3 V'),
      'beats-per-bar': fc.constantFrom('3', '4'),
      'count-in': fc.constantFrom('0', '1'),
    }),
    notes: fc.record(
      { hit: fc.constantFrom('36', '0'), 'bell-2': fc.constantFrom('127', '56') },
      { requiredKeys: [] },
    ),
    first: pattern,
    second: fc.record({ isFrom: fc.boolean(), pattern }),
    third: fc.record({ from: fc.constantFrom('first', 'second'), own: feel }),
    song: fc.option(
      fc.array(
        fc.record({
          pattern: fc.constantFrom('first', 'second', 'third'),
          repeats: fc.constantFrom('1', '2', '17'),
          own: feel,
          isShort: fc.boolean(),
        }),
        { minLength: 1, maxLength: 5 },
      ),
    ),
  })
  .map(({ own, more, notes, first, second, third, song }) => ({
    kind: 'rhythm',
    ...own,
    ...more,
    channels: CHANNELS,
    ...(Object.keys(notes).length > 0 && { notes }),
    patterns: {
      first,
      second: { ...(second.isFrom && { from: 'first' }), ...second.pattern },
      third: { from: third.from, ...third.own },
    },
    ...(song && {
      song: song.map(({ pattern: name, repeats, own: words, isShort }) =>
        isShort ? name : { pattern: name, repeats, ...words },
      ),
    }),
  }));
