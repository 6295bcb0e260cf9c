package android.database;

public interface Cursor {
    int getCount();
}
