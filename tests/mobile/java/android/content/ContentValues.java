package android.content;

public final class ContentValues {
    public void put(String key, String value) {}
}
