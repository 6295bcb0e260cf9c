package android.content;

import android.net.Uri;
import android.os.ParcelFileDescriptor;
import java.io.FileNotFoundException;

public class ContentResolver {
    public boolean hasNoRoom = false;
    public boolean isNotTheOwner = false;

    public final Uri insert(Uri url, ContentValues values) {
        return hasNoRoom ? null : Uri.parse(url + "/1");
    }

    public final ParcelFileDescriptor openFileDescriptor(Uri uri, String mode)
            throws FileNotFoundException {
        throw new FileNotFoundException("No item at " + uri);
    }

    public final int delete(Uri url, String where, String[] selectionArgs) {
        if (isNotTheOwner) throw new SecurityException("not the owner of " + url);
        return 1;
    }
}
