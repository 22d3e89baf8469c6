/** Why a WAV file could not be read, as a command says it. */

import { InputError } from '../files/inputs.ts';
import { WavError } from '../wav/wav-header.ts';
import { failedFile, Stop, wrongFile } from './exit.ts';

/**
 * Makes the error that ends the command.
 * @throws the error itself if it is a mistake of ours.
 */
export function unreadableWav(error: unknown, file: string): Stop {
  if (error instanceof Stop) return error;
  if (error instanceof InputError)
    return wrongFile(file, `this ${error.reason}; a WAV file was expected.`);
  if (error instanceof WavError) {
    const { message } = error;
    return wrongFile(
      file,
      message.startsWith(`${file}: `) ? message.slice(file.length + 2) : message,
    );
  }
  if (error instanceof RangeError) return wrongFile(file, `${error.message}.`);
  const { code, message } = error as NodeJS.ErrnoException;
  switch (code) {
    case 'ENOENT':
    case 'ENOTDIR':
      return wrongFile(file, 'there is no such file. Check the name and the folder.');
    case 'EACCES':
    case 'EPERM':
      return failedFile(file, 'no permission to read it.');
    case undefined:
      throw error;
    default:
      return failedFile(file, `could not be read: ${message}`);
  }
}
