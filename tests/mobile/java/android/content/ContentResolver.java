package android.content;

import android.net.Uri;
import android.os.ParcelFileDescriptor;
import java.io.File;
import java.io.FileNotFoundException;
import java.util.HashMap;
import java.util.Map;

/** The phone's media entries, and the providers that are asked for what is not one of them. */
public class ContentResolver {
    public boolean hasNoRoom = false;
    public boolean isNotTheOwner = false;
    public final Map<String, File> entries = new HashMap<>();
    public final Map<String, ContentProvider> providers = new HashMap<>();

    public final Uri insert(Uri url, ContentValues values) {
        return hasNoRoom ? null : Uri.parse(url + "/1");
    }

    public final ParcelFileDescriptor openFileDescriptor(Uri uri, String mode)
            throws FileNotFoundException {
        ContentProvider provider = providers.get(uri.getAuthority());
        if (provider != null) return provider.openFile(uri, mode);
        File file = entries.get(uri.toString());
        if (file == null) throw new FileNotFoundException("No item at " + uri);
        return ParcelFileDescriptor.open(file, ParcelFileDescriptor.MODE_READ_ONLY);
    }

    public final int delete(Uri url, String where, String[] selectionArgs) {
        if (isNotTheOwner) throw new SecurityException("not the owner of " + url);
        return 1;
    }
}
