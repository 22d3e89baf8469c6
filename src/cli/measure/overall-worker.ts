/** The entry of a worker: what is measured of a file as a whole, while another thread looks at its hits. */

import { parentPort, workerData } from 'node:worker_threads';
import { OverallMeter } from '../../measure/overall.ts';
import { WavFile } from '../../wav/read-wav.ts';

const wav = new WavFile(workerData as string);
const meter = new OverallMeter(wav.sampleRate, wav.channels, wav);
for (const block of wav.blocks) meter.add(block);
wav.close();
parentPort?.postMessage(meter.finish());
