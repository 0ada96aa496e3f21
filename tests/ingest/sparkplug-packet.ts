/**
 * Writes Sparkplug B payloads for tests, field by field as the published schema numbers them (Eclipse Sparkplug 3.0.0,
 * chapter 6).
 */
import { BinaryWriter, WireType } from '@bufbuild/protobuf/wire';

export interface TestMetric {
  readonly name?: string;
  readonly alias?: number;
  readonly timeMs?: number;
  readonly datatype?: number;
  readonly historical?: boolean;
  readonly isNull?: boolean;
  readonly quality?: number;
  readonly int?: number;
  readonly long?: bigint;
  readonly float?: number;
  readonly double?: number;
  readonly flag?: boolean;
  readonly text?: string;
}

export function sparkplugPayload(seq: number | null, metrics: readonly TestMetric[], timeMs?: number): Uint8Array {
  const writer = new BinaryWriter();
  if (timeMs !== undefined) writer.tag(1, WireType.Varint).uint64(timeMs);
  for (const metric of metrics) writer.tag(2, WireType.LengthDelimited).bytes(metricBytes(metric));
  if (seq !== null) writer.tag(3, WireType.Varint).uint64(seq);
  return writer.finish();
}

function metricBytes(metric: TestMetric): Uint8Array {
  const writer = new BinaryWriter();
  if (metric.name !== undefined) writer.tag(1, WireType.LengthDelimited).string(metric.name);
  if (metric.alias !== undefined) writer.tag(2, WireType.Varint).uint64(metric.alias);
  if (metric.timeMs !== undefined) writer.tag(3, WireType.Varint).uint64(metric.timeMs);
  if (metric.datatype !== undefined) writer.tag(4, WireType.Varint).uint32(metric.datatype);
  if (metric.historical !== undefined) writer.tag(5, WireType.Varint).bool(metric.historical);
  if (metric.isNull !== undefined) writer.tag(7, WireType.Varint).bool(metric.isNull);
  if (metric.quality !== undefined) writer.tag(9, WireType.LengthDelimited).bytes(qualityBytes(metric.quality));
  if (metric.int !== undefined) writer.tag(10, WireType.Varint).uint32(metric.int);
  if (metric.long !== undefined) writer.tag(11, WireType.Varint).uint64(metric.long);
  if (metric.float !== undefined) writer.tag(12, WireType.Bit32).float(metric.float);
  if (metric.double !== undefined) writer.tag(13, WireType.Bit64).double(metric.double);
  if (metric.flag !== undefined) writer.tag(14, WireType.Varint).bool(metric.flag);
  if (metric.text !== undefined) writer.tag(15, WireType.LengthDelimited).string(metric.text);
  return writer.finish();
}

function qualityBytes(quality: number): Uint8Array {
  const value = new BinaryWriter().tag(1, WireType.Varint).uint32(3).tag(3, WireType.Varint).uint32(quality).finish();
  return new BinaryWriter()
    .tag(1, WireType.LengthDelimited)
    .string('Quality')
    .tag(2, WireType.LengthDelimited)
    .bytes(value)
    .finish();
}
