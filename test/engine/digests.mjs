/**
 * Digests of what every example sounds like, so that samples can be compared between machines: the test
 * beside this file does it here and in Chromium, `print-digests.mjs` on any Node.
 */

const SECONDS = 2;
const RATES = [44_100, 48_000];

/**
 * @param {{ Take: Function, readPatch: Function, KINDS: unknown }} library
 * @param {Readonly<Record<string, string>>} files texts of the examples and of what they load, by name.
 * @returns {string} a line an example and rate.
 */
export function digests({ Take, readPatch, KINDS }, files) {
  const load = (path) => files[path];
  const lines = [];
  for (const file of Object.keys(files).sort()) {
    const { patch } = readPatch(files[file], { file, kinds: KINDS, load, loadRack: load });
    // A part of a patch has no output.
    if (!patch?.modules.some(({ definition }) => definition.role === 'output')) continue;
    for (const sampleRate of RATES) {
      const take = new Take(patch, {
        sampleRate,
        length: { unit: 'seconds', value: SECONDS },
        tail: { unit: 'seconds', value: 0 },
      });
      let state = [1, 2];
      for (let count = take.read(); count > 0; count = take.read())
        for (const channel of take.channels) state = mixed(state, channel.subarray(0, count));
      const hex = state.map((half) => (half >>> 0).toString(16).padStart(8, '0')).join('');
      lines.push(`${file} ${sampleRate} Hz ${hex}\n`);
    }
  }
  return lines.join('');
}

/** FNV-1a over the bits of the samples, twice, from two beginnings. */
function mixed([a, b], samples) {
  const words = new Uint32Array(samples.buffer, samples.byteOffset, 2 * samples.length);
  for (const word of words) {
    a = Math.imul(a ^ word, 16_777_619);
    b = Math.imul(b ^ (word >>> 16) ^ (word << 16), 16_777_619);
  }
  return [a, b];
}
