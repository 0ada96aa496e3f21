/**
 * A tar archive (POSIX.1-1988 ustar) of files in memory, block by block.
 *
 * In: path (up to 100 ASCII characters), bytes, time. Out: header block, content padded to 512 bytes; `TAR_END` closes
 * it.
 */
const BLOCK = 512;

export const TAR_END = Buffer.alloc(2 * BLOCK);

export function tarEntry(path: string, bytes: Buffer, atMs: number): Buffer[] {
  if (Buffer.byteLength(path) > 100) throw new RangeError(`the path ${path} is too long for this archive`);
  const header = Buffer.alloc(BLOCK);
  const octal = (value: number, length: number): string => `${value.toString(8).padStart(length - 1, '0')}\0`;
  header.write(path, 0);
  header.write(octal(0o644, 8), 100);
  header.write(octal(0, 8), 108);
  header.write(octal(0, 8), 116);
  header.write(octal(bytes.length, 12), 124);
  header.write(octal(Math.max(0, Math.floor(atMs / 1_000)), 12), 136);
  header.write(' '.repeat(8), 148);
  header.write('0', 156);
  header.write('ustar\x0000', 257, 'latin1');
  const sum = header.reduce((total, byte) => total + byte, 0);
  header.write(`${sum.toString(8).padStart(6, '0')}\0 `, 148);
  return [header, bytes, Buffer.alloc((BLOCK - (bytes.length % BLOCK)) % BLOCK)];
}
