/** A knock at a table: 9 ms of a sine of 620 Hz that dies away, 8 bits at 8 kHz, as a text. */
export const KNOCK =
  'data:audio/wav;base64,UklGRmwAAABXQVZFZm10IBAAAAABAAEAQB8AAEAfAAABAAgAZGF0YUgAAACAtdjj17mSbE4/QVBog5morKaYhnVpY2RrdoKMkpSQioJ7dXN0d3yBhoiJh4SBfXt6e3x/gYOEhIOCgH9+fX5+f4CBgoKBgYA=';
