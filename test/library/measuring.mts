// Samples, measured: one channel of a 997 Hz sine at full scale, clicks two a second, and silence.

import {
  defectsOf,
  LikenessError,
  LoopLoudnessMeter,
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
const round = new LoopLoudnessMeter(sampleRate, 1);
const peak = new PeakMeter();
const truePeak = new TruePeakMeter(1);
for (const meter of [loudness, round, peak, truePeak]) meter.add(block.channels, block.frames);
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

const silence = { sampleRate, channels: [new Float64Array(sampleRate)] };
const quiet = new SignalMeter(sampleRate, 1);
quiet.add({ ...silence, frames: sampleRate });

function atFault(): string {
  try {
    return String(likenessOf(louder, silence).db);
  } catch (error) {
    return error instanceof LikenessError ? error.which : String(error);
  }
}

export const seen = {
  lufs: [
    loudness.integrated().toFixed(2),
    round.integrated().toFixed(2),
    signal.finish().loudnessLufs?.toFixed(2),
  ],
  peaks: [peak.dbfs.toFixed(1), (20 * Math.log10(truePeak.finish())).toFixed(1)],
  apart: [likeness.db.toFixed(2), likeness.gainDb.toFixed(2)],
  defects: defectsOf(quiet.finish(), 24).map(({ kind }) => kind),
  atFault: atFault(),
  onsets: measured.onsets.map((time) => (Math.round(time * 100) / 100).toFixed(2)),
};
