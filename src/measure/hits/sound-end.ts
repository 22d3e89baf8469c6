/**
 * Where a sound is cut off, as by an editor who trims its tail: silence or hiss follows, which is not
 * a part of its fall.
 *
 * The measure is the loudest moment still to come. It sinks as the sound does, and drops at a cut.
 */

const HOP = 0.001;
/** So many hops before the cut ... */
const BEFORE = 20;
/** ... the sound has not fallen by as much as it does within two at the cut, dB. */
const STEADY_DB = 6;
const CUT_DB = 12;
/** The sound after a cut is this far under the loudest; otherwise the sound rings on, as after a thump. */
const SILENT_DB = 40;

/** After a cut between silence of its own and a slow wave: hops from the wave's last crest, half a wave of 50 Hz. */
const CREST = 10;
const NOTHING = 1e-11;

/**
 * Finds the end of a sound.
 * @param from its first sample.
 * @param to the sample after the last that may be its own.
 * @returns the sample after its last; `to` if nothing cuts it off.
 */
export function soundEnd(
  samples: Float64Array,
  from: number,
  to: number,
  sampleRate: number,
): number {
  const hop = Math.max(1, Math.round(HOP * sampleRate));
  const ahead = loudestAhead(samples, from, to, hop);
  const steady = 10 ** (-STEADY_DB / 10);
  const cut = 10 ** (-CUT_DB / 10);
  const silent = (ahead[0] ?? 0) * 10 ** (-SILENT_DB / 10);
  const drops = (h: number, next: number) => {
    const last = ahead[h] as number;
    return next < cut * last && last > steady * (ahead[h - BEFORE] as number);
  };
  for (let h = BEFORE + 2; h < ahead.length; h++) {
    const next = ahead[h] as number;
    if (next > silent) continue;
    if (drops(h - 2, next)) return from + (h - 1) * hop;
    // An editor cuts a slow wave where it passes through zero, so it is soft before the silence, which is complete.
    if (next <= NOTHING * (ahead[0] as number) && drops(h - 2 - CREST, next))
      return from + (h - 1) * hop;
  }
  return to;
}

/** For each hop, the highest power from it on; ends with silence. */
function loudestAhead(samples: Float64Array, from: number, to: number, hop: number): Float64Array {
  const hops = Math.floor((to - from) / hop);
  const ahead = new Float64Array(hops);
  let most = 0;
  for (let h = hops - 1; h >= 0; h--) {
    let sum = 0;
    const end = from + (h + 1) * hop;
    for (let n = end - hop; n < end; n++) sum += (samples[n] as number) ** 2;
    if (sum > most) most = sum;
    ahead[h] = most;
  }
  return ahead;
}
