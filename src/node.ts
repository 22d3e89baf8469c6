/** What the library adds in Node: clips and recordings as WAV files. */

// Clips.

export { type Clip, type ClipFile, type ClipOptions, renderClip } from './output/clip.ts';

// WAV files, written as samples are made and read as they are wanted.

export { WavFile } from './wav/read-wav.ts';
export { openWav, type WavOptions, type WavResult, type WavWriter } from './wav/wav-file.ts';
