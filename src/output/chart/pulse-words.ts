/** Volts and times of recorded pulses in words, as reports and charts of them both have them. */

/** To a millivolt, or a tenth of one. */
export function shortVolts(value: number): string {
  const text = Math.abs(value) < 0.1 ? `${(1000 * value).toFixed(1)} mV` : `${value.toFixed(3)} V`;
  return text.replace(/^-(0\.0+ )/, '$1');
}

/** s: a shorter time is printed as none: it is what rounding leaves. */
const LEAST = 5e-9;

/** @param seconds from 0 on. */
export function shortTime(seconds: number): string {
  if (seconds >= 1) return `${seconds.toFixed(4)} s`;
  if (seconds < LEAST) return '0 us';
  return seconds >= 1e-3
    ? `${Number((1000 * seconds).toPrecision(5))} ms`
    : `${Number((1e6 * seconds).toPrecision(3))} us`;
}
