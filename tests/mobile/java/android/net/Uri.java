package android.net;

import android.os.Parcelable;

public class Uri implements Parcelable {
    private final String text;

    private Uri(String text) {
        this.text = text;
    }

    public static Uri parse(String uriString) {
        return new Uri(uriString);
    }

    @Override
    public String toString() {
        return text;
    }
}
