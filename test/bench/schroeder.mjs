/**
 * Decay times by backward integration, written separately from those of `measure`, which are checked by it:
 * sample by sample, from the onset to the end of the file, with nothing taken off or added.
 *
 * Sources: M. R. Schroeder, New Method of Measuring Reverberation Time, J. Acoust. Soc. Am. 37 (1965)
 * 409-412; ISO 3382-1:2009, 5.3.3 (both from memory): EDT from 0 to -10 dB, T20 from -5 to -25 dB, T30
 * from -5 to -35 dB, each drawn out to 60 dB. The noise must lie 10 dB under the lower end of the
 * range, so -35 dB for T20 and -45 dB for T30; here the end of the file must satisfy that, whatever is
 * there.
 */

const BELOW = 10;
/** s; the window of the level at the end, and of the loudest. */
const WINDOW = 0.02;

/**
 * @param samples a hit.
 * @param rate Hz.
 * @param onset index of its first sample.
 * @returns times of a fall by 60 dB, s; null for what the file is too short or too noisy to tell.
 */
export function schroeder(samples, rate, onset) {
  const mean = samples.reduce((sum, one) => sum + one, 0) / samples.length;
  let end = samples.length;
  while (end > onset && samples[end - 1] === samples[samples.length - 1]) end--;
  const energy = samples.subarray(onset, end).map((one) => (one - mean) ** 2);
  const length = Math.round(WINDOW * rate);
  const level = (from) => energy.subarray(from, from + length).reduce((sum, one) => sum + one, 0);
  let loudest = 0;
  for (let n = 0; n + length <= energy.length; n += length >> 2) {
    loudest = Math.max(loudest, level(n));
  }
  const last = 10 * Math.log10(level(Math.max(0, energy.length - length)) / loudest);
  for (let n = energy.length - 2; n >= 0; n--) energy[n] += energy[n + 1];
  const toCome = energy.map((one) => 10 * Math.log10(one / energy[0]));
  const time = (from, to) => (last > to - BELOW ? null : drawnOut(toCome, rate, from, to));
  return { edt: time(0, -10), t20: time(-5, -25), t30: time(-5, -35) };
}

function drawnOut(toCome, rate, from, to) {
  let [count, t1, t2, y1, ty] = [0, 0, 0, 0, 0];
  toCome.forEach((level, n) => {
    if (level > from || level < to) return;
    const t = n / rate;
    count += 1;
    t1 += t;
    t2 += t * t;
    y1 += level;
    ty += t * level;
  });
  return (-60 * (count * t2 - t1 * t1)) / (count * ty - t1 * y1);
}
