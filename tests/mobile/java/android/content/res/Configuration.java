package android.content.res;

public final class Configuration {
    public static final int UI_MODE_NIGHT_MASK = 0x30;
    public static final int UI_MODE_NIGHT_NO = 0x10;
    public static final int UI_MODE_NIGHT_YES = 0x20;

    public int uiMode = UI_MODE_NIGHT_NO | 1; // UI_MODE_TYPE_NORMAL
    public int smallestScreenWidthDp = 412;
}
