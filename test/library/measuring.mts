// Samples, measured: one channel of a 997 Hz sine at full scale, and clicks two a second.

import {
  LoudnessMeter,
  likenessOf,
  measureSignal,
  PeakMeter,
  SignalMeter,
  TruePeakMeter,
} from 'forehear';

const sampleRate = 48_000;
const sine = Float64Array.from({ length: 4 * sampleRate }, (_, n) =>
  Math.sin((2 * Math.PI * 997 * n) / sampleRate),
);
const block = { channels: [sine], frames: sine.length };

const loudness = new LoudnessMeter(sampleRate, 1);
const peak = new PeakMeter();
const truePeak = new TruePeakMeter(1);
for (const meter of [loudness, peak, truePeak]) meter.add(block.channels, block.frames);
const signal = new SignalMeter(sampleRate, 1);
signal.add(block);

const hits = Float64Array.from(
  { length: 4 * sampleRate },
  (_, n) =>
    Math.exp(-(n % 24_000) / 1000) * Math.sin((2 * Math.PI * 200 * (n % 24_000)) / sampleRate),
);
const measured = await measureSignal({
  sampleRate,
  channels: 1,
  blocks: [{ channels: [hits], frames: hits.length }],
});

const louder = { sampleRate, channels: [hits.map((value) => 2 * value)] };
const likeness = likenessOf(louder, { sampleRate, channels: [hits] });

export const seen = {
  lufs: [loudness.integrated().toFixed(2), signal.finish().loudnessLufs?.toFixed(2)],
  peaks: [peak.dbfs.toFixed(1), (20 * Math.log10(truePeak.finish())).toFixed(1)],
  apart: [likeness.db.toFixed(2), likeness.gainDb.toFixed(2)],
  onsets: measured.onsets.map((time) => (Math.round(time * 100) / 100).toFixed(2)),
};
