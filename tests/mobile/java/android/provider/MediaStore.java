package android.provider;

import android.net.Uri;

public final class MediaStore {
    public static final class Images {
        public static final class Media {
            public static final Uri EXTERNAL_CONTENT_URI = Uri.parse("content://media/images");
        }
    }
}
