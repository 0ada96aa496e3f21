/** One measured value in SI, as ingest hands it on. */
export interface Reading {
  /** Sensor id of the layout. */
  readonly channel: string;
  /** SI; finite. Out of the sensor's range is graded, not dropped. */
  readonly value: number;
  /**
   * Time used: the device's own where it can be believed, put right where its clock is off; else the time of receipt.
   * Milliseconds since 1970 UTC.
   */
  readonly atMs: number;
  readonly receivedMs: number;
  /** What the device's clock said; null: no date. */
  readonly deviceMs: number | null;
  readonly grade: 'good' | 'out-of-range';
}
