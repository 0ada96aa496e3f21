/**
 * MQTT topic filters (MQTT 3.1.1 section 4.7): '+' stands for one level, '#' at the end for the level above it and all
 * below.
 *
 * In: a filter, and a topic that was published. Out: whether the filter is one, and whether it matches.
 */
export function isTopicFilter(filter: string): boolean {
  const levels = filter.split('/');
  return (
    filter !== '' &&
    !filter.includes('\u0000') &&
    levels.every(
      (level, index) => level === '+' || (level === '#' && index === levels.length - 1) || !/[+#]/.test(level),
    )
  );
}

export function matchesTopic(filter: string, topic: string): boolean {
  const wanted = filter.split('/');
  const levels = topic.split('/');
  // A broker's own topics begin with $, and a wildcard in front does not reach them (4.7.2).
  if (topic.startsWith('$') && /^[+#]/.test(filter)) return false;
  for (const [index, want] of wanted.entries()) {
    if (want === '#') return true;
    if (index >= levels.length || (want !== '+' && want !== levels[index])) return false;
  }
  return wanted.length === levels.length;
}
