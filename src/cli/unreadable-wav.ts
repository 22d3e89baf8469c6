/** Why a WAV file could not be read, as a command says it. */

import { InputError } from '../files/inputs.ts';
import { WavError } from '../wav/reader-header.ts';
import { EXIT, Stop, wrongRequest } from './exit.ts';

/**
 * Gives the end that such an error makes.
 * @throws the error itself if it is a mistake of ours.
 */
export function unreadableWav(error: unknown, file: string): Stop {
  if (error instanceof Stop) return error;
  if (error instanceof InputError)
    return wrongRequest(`${file}: this ${error.reason}; a WAV file was expected.`);
  if (error instanceof WavError) return wrongRequest(error.message);
  if (error instanceof RangeError) return wrongRequest(`${file}: ${error.message}.`);
  const { code, message } = error as NodeJS.ErrnoException;
  switch (code) {
    case 'ENOENT':
    case 'ENOTDIR':
      return wrongRequest(`${file}: there is no such file. Check the name and the folder.`);
    case 'EACCES':
    case 'EPERM':
      return new Stop(EXIT.machine, `${file}: no permission to read it.`);
    case undefined:
      throw error;
    default:
      return new Stop(EXIT.machine, `${file}: could not be read: ${message}`);
  }
}
