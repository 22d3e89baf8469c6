/** What the library adds in Node: clips as WAV files. */

export { type Clip, type ClipFile, type ClipOptions, renderClip } from './output/clip.ts';
export { openWav, type WavOptions, type WavWriter } from './wav/wav-file.ts';
