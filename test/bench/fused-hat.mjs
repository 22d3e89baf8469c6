/**
 * The closed hat as a person would write it by hand for speed: one loop, every state a local
 * variable, the same sums as the modules and nets of patches/closed-hat.yaml do. The yardstick for
 * the engine; `run.mjs` checks that both give the same samples.
 */

import { Gaussian, layerEdges } from '../../dist/modules/dsp/gaussian.js';
import { exp2 } from '../../dist/modules/dsp/math.js';

/** Net of one 1 kohm output into one 100 kohm input: V x 100 / 101. */
const LOADED = 1 / 1000 / (1 / 1000 + 1 / 100_000);
const SWITCH_OPEN = 5;
const SWITCH_CLOSED = 5 / 10_000 / (1 / 10_000 + 1 / 50);
const EDGES = layerEdges();
const SCALES = EDGES.map((x) => x / 2 ** 23);
const RAIL = 12;
const BLOCK = 128;

/**
 * @param hat what the patch says: see `run.mjs`.
 * @returns a function that renders so many blocks from the start, telling `done` of each if given.
 */
export function fusedHat(hat) {
  const { rate, edges, seeds, noiseLevel, cutoff, q, envelope, range, accentLevel, accentOffset } =
    hat;
  const g = Math.tan((Math.PI * cutoff) / rate);
  const damping = 1 / q;
  const twice = 2 / (1 + g * (g + damping));
  const keep = twice - 1;
  const pass = twice * g;
  const reach = twice * g * g;
  const { peak, attack, decay, release } = envelope;
  const aim = 1.5 * peak;
  const attackTau = (attack * rate) / Math.log(3);
  const attackFactor = Math.exp(-1 / attackTau);
  const attackOffset = aim * (1 - attackFactor);
  const decayFactor = Math.exp(-5 / (decay * rate));
  const releaseFactor = Math.exp(-5 / (release * rate));
  const needed = Math.round(0.001 * rate);
  const perDb = Math.log2(10) / 20;
  const most = 10 ** (6 / 20);

  // The rare cases of the Gaussian are left to the module's own code, one sample in a hundred.
  const rare = new Gaussian(seeds);

  return (blocks, done) => {
    // All state is local here: a variable of an outer function would be boxed at every change.
    let { s0: a, s1: b, s2: c, s3: d } = rare;
    let n = 0;
    let next = 0;
    let gate = 0;
    let accent = 0;
    let gateOn = false;
    let triggerOn = false;
    let lasted = 0;
    let stage = 0;
    let left = Number.POSITIVE_INFINITY;
    let volts = 0;
    let factor = 1;
    let offset = 0;
    let s1 = 0;
    let s2 = 0;
    let control = Number.NaN;
    let gain = 0;
    const out = new Float64Array(BLOCK);
    for (let block = 0; block < blocks; block++) {
      for (let i = 0; i < out.length; i++) {
        // rhythm
        while (next < edges.length && edges[next].sample <= n) {
          if (edges[next].output === 0) gate = edges[next].volts;
          else if (edges[next].output === 1) accent = edges[next].volts;
          next++;
        }
        n++;
        // trigger converter
        const atConverter = gate * LOADED;
        if (gateOn) {
          if (atConverter <= 1.5) gateOn = false;
        } else if (atConverter >= 2.5) gateOn = true;
        // envelope
        if (left > 1) {
          left -= 1;
          volts = volts * factor + offset;
        } else if (stage === 1) {
          volts = peak * Math.exp((-5 * (1 - left)) / (decay * rate));
          stage = 2;
          factor = decayFactor;
          offset = 0;
          left = decay * rate - (1 - left);
        } else {
          // Decay's or release's end, the same here: on toward 0.
          volts = volts * factor;
          stage = 3;
          factor = releaseFactor;
          offset = 0;
          left = Number.POSITIVE_INFINITY;
        }
        const atTrigger = gateOn ? SWITCH_CLOSED : SWITCH_OPEN;
        if (triggerOn) {
          if (atTrigger >= 2) {
            triggerOn = false;
            lasted = 0;
            stage = 3;
            factor = releaseFactor;
            offset = 0;
            left = volts > 1e-9 ? (release * rate * Math.log(volts / 1e-9)) / 5 : 0;
          }
        } else if (atTrigger <= 0.8) {
          lasted++;
          if (lasted >= needed) {
            triggerOn = true;
            stage = 1;
            factor = attackFactor;
            offset = attackOffset;
            left = attackTau * Math.log((aim - volts) / (aim - peak));
          }
        } else lasted = 0;
        // noise
        const t2 = c ^ a;
        const t3 = d ^ b;
        const sum = (a + d) | 0;
        const bits = (((sum << 7) | (sum >>> 25)) + a) | 0;
        a ^= t3;
        const t1 = b ^ t2;
        c = t2 ^ (b << 9);
        b = t1;
        d = (t3 << 11) | (t3 >>> 21);
        const layer = bits & 255;
        let x = ((bits >> 8) + 0.5) * SCALES[layer];
        if (!(Math.abs(x) < EDGES[layer + 1])) {
          rare.s0 = a;
          rare.s1 = b;
          rare.s2 = c;
          rare.s3 = d;
          rare.value = x;
          rare.goOutside(layer);
          x = rare.value;
          ({ s0: a, s1: b, s2: c, s3: d } = rare);
        }
        let white = noiseLevel * x;
        white = white > RAIL ? RAIL : white < -RAIL ? -RAIL : white;
        // filter
        const input = white * LOADED;
        const difference = input - s2;
        const next1 = keep * s1 + pass * difference;
        const next2 = s2 + (pass * s1 + reach * difference);
        const band = damping * (0.5 * (s1 + next1));
        const low = 0.5 * (s2 + next2);
        s1 = next1;
        s2 = next2;
        let high = input - band - low;
        high = high > RAIL ? RAIL : high < -RAIL ? -RAIL : high;
        // exponential amplifier
        const atControl = volts * LOADED;
        if (atControl !== control) {
          control = atControl;
          gain = control > 0 ? Math.min(exp2(range * (control / 5 - 1) * perDb), most) : 0;
        }
        let shaped = high * LOADED * gain;
        shaped = shaped > RAIL ? RAIL : shaped < -RAIL ? -RAIL : shaped;
        // accent and linear amplifier
        let touch = accent * LOADED * accentLevel + accentOffset;
        touch = touch > RAIL ? RAIL : touch < -RAIL ? -RAIL : touch;
        const touchGain = touch * LOADED * 0.2;
        let touched = touchGain > 0 ? shaped * LOADED * Math.min(touchGain, most) : 0;
        touched = touched > RAIL ? RAIL : touched < -RAIL ? -RAIL : touched;
        out[i] = touched * LOADED * 0.1;
      }
      done?.(out, block);
    }
  };
}
