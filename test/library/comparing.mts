// Two settings of a patch, at equal loudness.

import { differenceDb, equalLoudness, KINDS, readPatch, render, SignalMeter } from 'forehear';

const PATCH = `
modules:
  tone: { kind: oscillator, at-zero: 300 Hz }
  level: { kind: attenuator, level: 100 % }
  out: { kind: output }
cables: [tone.sine -> level.in, level.out -> out.left]
`;

const sounds = ['100 %', '50 %'].map((level) => {
  const set = [`level.level=${level}`];
  const { patch } = readPatch(PATCH, { file: 'tone.yaml', kinds: KINDS, set });
  if (patch === undefined) throw new Error('the patch has problems');
  const { channels, frames, sampleRate } = render(patch, {
    length: { unit: 'seconds', value: 1 },
    tail: { unit: 'seconds', value: 0 },
  });
  const meter = new SignalMeter(sampleRate, channels.length);
  meter.add({ channels, frames });
  return { channels, measures: meter.finish() };
});
const { gainsDb } = equalLoudness(sounds.map(({ measures }) => measures));
const levelled = sounds.map(({ channels }, index) =>
  channels.map((samples) => samples.map((value) => value * 10 ** ((gainsDb[index] ?? 0) / 20))),
);
const [loud, soft] = sounds.map(({ channels }) => channels);
const [one, other] = levelled;
if (!(loud && soft && one && other)) throw new Error('two sounds were asked for');

export const seen = {
  apart: ((gainsDb[1] ?? 0) - (gainsDb[0] ?? 0)).toFixed(2),
  before: differenceDb(loud, soft)?.toFixed(2),
  alike: (differenceDb(one, other) ?? Number.NEGATIVE_INFINITY) < -80,
};
