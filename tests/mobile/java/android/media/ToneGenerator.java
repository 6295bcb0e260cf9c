package android.media;

/** Sounds, where the phone has a player left. */
public class ToneGenerator {
    public static final int MAX_VOLUME = 100;
    public static final int TONE_PROP_NACK = 26;

    public static String sounded = "";
    public static int held = 0;
    public static boolean hasNoPlayer = false;

    private final int streamType, volume;

    public ToneGenerator(int streamType, int volume) {
        if (hasNoPlayer) throw new RuntimeException("Init failed");
        this.streamType = streamType;
        this.volume = volume;
        held += 1;
    }

    public boolean startTone(int toneType, int durationMs) {
        sounded += streamType + " " + volume + " " + toneType + " " + durationMs + ";";
        return true;
    }

    public void release() {
        held -= 1;
    }
}
