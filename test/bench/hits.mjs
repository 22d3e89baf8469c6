/**
 * What `measure` finds in hits that were struck once, and in sequences of hits at known times: how many
 * recorded hits are taken for one, and how near their decay times are to an independent computation; in
 * the sequences, how many onsets are found and how many of those are true; in strokes put together, how
 * many flams are reported and how many of these are right.
 */

import { SignalMeter } from '../../dist/lib/index.js';
import { flamsOfRecordings, flamsOfVoices } from './flams.mjs';
import { hasRecordings, singleHits } from './recordings.mjs';
import { schroeder } from './schroeder.mjs';
import { compared, RATE, sequence } from './sequences.mjs';

export const title = 'Hits, recorded and in sequences';

const SEQUENCES = 200;
/** s. */
const WITHIN = 0.005;
/** A decay time agrees within this share. */
const AGREES = 0.15;

export function run() {
  return [...sequences(), ...recorded(), ...flamsOfVoices()];
}

function sequences() {
  const sum = { hit: 0, missed: 0, extra: 0 };
  for (let seed = 0; seed < SEQUENCES; seed++) {
    const { samples, times } = sequence(seed);
    const { hit, missed, extra } = compared(measured(samples, RATE).onsets, times, WITHIN);
    sum.hit += hit;
    sum.missed += missed;
    sum.extra += extra;
  }
  return [
    share(`recall over ${SEQUENCES} sequences`, sum.hit, sum.hit + sum.missed, 95),
    share(`precision over ${SEQUENCES} sequences`, sum.hit, sum.hit + sum.extra, 95),
  ];
}

function recorded() {
  if (!hasRecordings()) {
    console.log(
      "  SKIPPED: Debian's package freepats, which holds the recordings, is not installed.",
    );
    return [];
  }
  const hits = singleHits();
  const alone = Object.entries(LIES).map(([what, lay]) => {
    const split = hits.filter(({ samples, rate }) => {
      const { onsets } = measured(lay(samples, rate), rate);
      return onsets.length !== 1;
    });
    if (split.length > 0) {
      console.log(`  not one hit, ${what}: ${split.map(({ name }) => name).join(', ')}`);
    }
    return share(`one hit, ${what}`, hits.length - split.length, hits.length, 95);
  });
  return [...alone, ...decays(hits), ...flamsOfRecordings(hits, Object.values(LIES))];
}

/** How a recording lies in its file. */
const LIES = {
  'as recorded': (samples) => samples,
  'with silence before and after': (samples, rate) => padded(samples, rate),
  'over a floor at -60 dB': (samples, rate) => withFloor(padded(samples, rate), 0),
  'a floor beginning 0.15 s before': (samples, rate) =>
    withFloor(padded(samples, rate), Math.round(0.15 * rate)),
};

function padded(samples, rate) {
  const lead = Math.round(0.3 * rate);
  const all = new Float64Array(2 * lead + samples.length);
  all.set(samples, lead);
  return all;
}

/** Even noise from small whole numbers, whose peak is at -60 dB: no claim depends on which noise it is. */
function withFloor(samples, from) {
  const peak = samples.reduce((most, one) => Math.max(most, Math.abs(one)), 0);
  let state = 1;
  return samples.map((one, n) => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return n < from ? one : one + peak * 1e-3 * (state / 2 ** 31 - 1);
  });
}

function decays(hits) {
  const near = { EDT: [0, 0], T20: [0, 0], T60: [0, 0] };
  for (const { name, samples, rate } of hits) {
    const [hit] = measured(samples, rate).hits;
    const other = schroeder(samples, rate, Math.round((hit?.time ?? 0) * rate));
    const pairs = [
      ['EDT', hit?.edtSeconds, other.edt],
      ['T20', hit?.t20Seconds, other.t20],
      ['T60', hit?.t60Seconds, other.t30],
    ];
    for (const [figure, own, right] of pairs) {
      if (right === null) continue;
      const agrees = Math.abs((own ?? 0) - right) <= AGREES * right;
      near[figure][0] += agrees ? 1 : 0;
      near[figure][1] += 1;
      if (!agrees) {
        console.log(
          `  ${figure} of ${name}: ${own?.toFixed(3)} s, by Schroeder ${right.toFixed(3)} s`,
        );
      }
    }
  }
  return Object.entries(near).map(([figure, [good, all]]) =>
    share(`${figure} within 15 % of Schroeder's (ISO 3382-1)`, good, all, 90),
  );
}

function measured(samples, rate) {
  const meter = new SignalMeter(rate, 1, { tempo: false, hitSpectra: false });
  meter.add({ channels: [samples], frames: samples.length });
  return meter.finish();
}

function share(what, good, all, limit) {
  return {
    what: `${what}: ${good} of ${all}`,
    value: (100 * good) / all,
    unit: '%',
    limit,
    atLeast: true,
  };
}
