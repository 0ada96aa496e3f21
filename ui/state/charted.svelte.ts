/** Which channels are drawn on the trend screen, remembered while the page lasts; null: the screen's first choice. */
class Charted {
  channels = $state.raw<readonly string[] | null>(null);

  only(channel: string): void {
    this.channels = [channel];
  }

  set(channels: readonly string[]): void {
    this.channels = channels;
  }
}

export const charted = new Charted();
