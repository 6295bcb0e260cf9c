package android.content.res;

public final class Configuration {
    public int smallestScreenWidthDp = 412;
}
