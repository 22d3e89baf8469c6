/**
 * The recorded hits that Debian's package `freepats` installs, read from where they are installed; none of them
 * is in this repository. Their licence is the GPL, version 2 or later, with an exception for music.
 *
 * The files are patches of the `GF1PATCH110` layout: heads of 129, 63 and 47 bytes, then one of 96 for
 * each sample, before its data (layout from memory; each file's own length agrees).
 */

import { existsSync, readFileSync } from 'node:fs';

const FOLDER = '/usr/share/midi/freepats/Drum_000/';
const TUNED_FOLDER = '/usr/share/midi/freepats/Tone_000/';

/**
 * Which files are hits of which drum. Several of the package's drums are recordings of an electronic
 * instrument, as the note beside each says: all its toms, one of its kicks, its clap and one of its
 * bells. They are no drums, and none of them is here. So no tom and no clap of hands is left.
 */
export const RECORDED = {
  kick: ['035_Kick_1'],
  snare: ['038_Snare_1', '040_Snare_2'],
  'closed hat': ['042_Hi-Hat_Closed', '044_Hi-Hat_Pedal'],
  'open hat': ['046_Hi-Hat_Open'],
  crash: ['049_Cymbal_Crash_1', '052_Cymbal_Chinese', '055_Cymbal_Splash'],
  ride: ['051_Cymbal_Ride_1', '059_Cymbal_Ride_2'],
  bell: ['056_Cow_Bell'],
  rim: ['037_Stick_Rim'],
  shaker: ['082_Shaker'],
  // Of no voice here: they tell how much drums of one kind differ.
  bongo: ['060_Bongo_High', '061_Bongo_Low'],
  conga: ['063_Conga_High_2_Open', '064_Conga_Low'],
  timbale: ['065_Timbale_High', '066_Timbale_Low'],
};

/** Drums that were struck once, besides those that are recordings of an electronic instrument. */
const STRUCK = [
  '026_Snap 031_Sticks 035_Kick_1 037_Stick_Rim 038_Snare_1 040_Snare_2 042_Hi-Hat_Closed',
  '044_Hi-Hat_Pedal 046_Hi-Hat_Open 049_Cymbal_Crash_1 051_Cymbal_Ride_1 052_Cymbal_Chinese',
  '054_Tombourine 055_Cymbal_Splash 056_Cow_Bell 059_Cymbal_Ride_2 060_Bongo_High 061_Bongo_Low',
  '062_Conga_High_1_Mute 063_Conga_High_2_Open 064_Conga_Low 065_Timbale_High 066_Timbale_Low',
  '067_Agogo_High 068_Agogo_Low 076_Wood_Block_1_High 077_Wood_Block_2_Low 080_Triangle_1_Mute',
  '081_Triangle_2_Open',
].flatMap((line) => line.split(' '));
/** What was struck or plucked once, at several pitches. */
const TUNED = [
  '008_Celesta 009_Glockenspiel 013_Xylophone 014_Tubular_Bells 015_Dulcimer 024_Nylon_Guitar',
  '025_Steel_Guitar 045_Pizzicato_Strings 046_Harp 047_Timpani 114_Steel_Drums',
].flatMap((line) => line.split(' '));

/**
 * Every hit that stands alone: its name, its samples, -1 to 1, and their rate in Hz. What is tuned has its pitch
 * with it, in Hz, as the file states it.
 */
export function singleHits() {
  const drums = STRUCK.map((name) => ({ name, ...recording(name), hz: null }));
  return [
    ...drums,
    ...TUNED.flatMap((name) =>
      samplesOf(`${TUNED_FOLDER}${name}.pat`).map((hit, k) => ({
        name: `${name} ${k + 1}`,
        ...hit,
      })),
    ),
  ];
}

/** Whether the package is installed. */
export function hasRecordings() {
  return existsSync(FOLDER);
}

/**
 * @param name of a file; of several pitches it may go on with a space and which it is, from 1.
 * @returns its samples, -1 to 1, and their rate in Hz.
 */
export function recording(name) {
  const [file, which = 1] = name.split(' ');
  const folder = [FOLDER, TUNED_FOLDER].find((one) => existsSync(`${one}${file}.pat`));
  return samplesOf(`${folder}${file}.pat`)[which - 1];
}

function samplesOf(file) {
  const bytes = readFileSync(file);
  if (bytes.toString('latin1', 0, 11) !== 'GF1PATCH110') throw new Error(`${file}: another layout`);
  const found = [];
  // How many there are stands in the third head.
  let head = 129 + 63 + 47;
  for (let k = 0; k < bytes[129 + 63 + 6]; k++) {
    const size = bytes.readUInt32LE(head + 8);
    found.push(sampleAt(bytes, head, size));
    head += 96 + size;
  }
  return found;
}

function sampleAt(bytes, head, size) {
  const rate = bytes.readUInt16LE(head + 20);
  const modes = bytes[head + 55];
  const wide = (modes & 1) === 1;
  const unsigned = (modes & 2) === 2;
  const samples = new Float64Array(wide ? size / 2 : size).map((_, n) => {
    const at = head + 96 + (wide ? 2 * n : n);
    if (wide) return (unsigned ? bytes.readUInt16LE(at) - 32768 : bytes.readInt16LE(at)) / 32768;
    return (unsigned ? bytes.readUInt8(at) - 128 : bytes.readInt8(at)) / 128;
  });
  return { samples, rate, hz: bytes.readUInt32LE(head + 30) / 1000 };
}
