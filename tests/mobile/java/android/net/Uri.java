package android.net;

import android.os.Parcelable;
import java.nio.charset.StandardCharsets;
import java.net.URLDecoder;

public class Uri implements Parcelable {
    private final String text;

    private Uri(String text) {
        this.text = text;
    }

    public static Uri parse(String uriString) {
        return new Uri(uriString);
    }

    public String getAuthority() {
        return text.split("/")[2];
    }

    /** The last part of the path, decoded, as Android's reference says. */
    public String getLastPathSegment() {
        String last = text.substring(text.lastIndexOf('/') + 1).replace("+", "%2B");
        return URLDecoder.decode(last, StandardCharsets.UTF_8);
    }

    @Override
    public String toString() {
        return text;
    }
}
