/** An independent meter: the package ebur128-wasm, the Rust crate ebur128 compiled for the web. */

import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';

interface Glue {
  connect(exports: unknown): void;
  ebur128_integrated_mono(sampleRate: number, samples: Float32Array): number;
  ebur128_integrated_stereo(sampleRate: number, left: Float32Array, right: Float32Array): number;
  ebur128_true_peak_mono(sampleRate: number, samples: Float32Array): number;
}

interface Wasm {
  instantiate(
    bytes: Uint8Array,
    imports: Readonly<Record<string, Glue>>,
  ): Promise<{ instance: { exports: unknown } }>;
}

export interface SecondReader {
  /** LUFS. */
  loudnessMono(sampleRate: number, samples: Float64Array): number;
  loudnessStereo(sampleRate: number, left: Float64Array, right: Float64Array): number;
  /** dBTP. */
  truePeakMono(sampleRate: number, samples: Float64Array): number;
}

let loaded: Promise<SecondReader> | undefined;

/**
 * Loads it, once: the package keeps one view of its memory, which a second instance would leave looking
 * at the first one's.
 */
export function secondReader(): Promise<SecondReader> {
  loaded ??= load();
  return loaded;
}

/**
 * The package is made for bundlers, which link its wasm by themselves; here its one import is put in by
 * hand.
 */
async function load(): Promise<SecondReader> {
  const folder = dirname(createRequire(import.meta.url).resolve('ebur128-wasm/package.json'));
  const text = readFileSync(join(folder, 'ebur128_wasm_bg.js'), 'utf8').replace(
    /^import .*$/m,
    'let wasm; export const connect = (exports) => { wasm = exports; };',
  );
  const glue: Glue = await import(
    /* @vite-ignore */ `data:text/javascript,${encodeURIComponent(text)}`
  );
  const bytes = readFileSync(join(folder, 'ebur128_wasm_bg.wasm'));
  // The types of this runtime's WebAssembly come with the DOM's, which this project does without.
  const { WebAssembly } = globalThis as unknown as { WebAssembly: Wasm };
  const { instance } = await WebAssembly.instantiate(bytes, { './ebur128_wasm_bg.js': glue });
  glue.connect(instance.exports);
  const single = (samples: Float64Array) => new Float32Array(samples);
  return {
    loudnessMono: (rate, samples) => glue.ebur128_integrated_mono(rate, single(samples)),
    loudnessStereo: (rate, left, right) =>
      glue.ebur128_integrated_stereo(rate, single(left), single(right)),
    truePeakMono: (rate, samples) => glue.ebur128_true_peak_mono(rate, single(samples)),
  };
}
