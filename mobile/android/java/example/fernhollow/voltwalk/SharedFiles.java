package example.fernhollow.voltwalk;

import android.content.ContentProvider;
import android.content.ContentValues;
import android.database.Cursor;
import android.database.MatrixCursor;
import android.net.Uri;
import android.os.ParcelFileDescriptor;
import android.provider.OpenableColumns;
import java.io.File;
import java.io.FileNotFoundException;
import java.io.IOException;

/**
 * Hands the one file that is being shared to the app that was chosen for it, for reading.
 *
 * <p>What may be read is what lies in the folder {@link #FOLDER} of the app's own storage, which
 * {@code mobile/jobs/shared_file.py} keeps: nothing is copied to where every app sees it, and what is
 * deleted there can no longer be opened.
 */
public class SharedFiles extends ContentProvider {

    static final String FOLDER = "store/shared";

    @Override
    public boolean onCreate() {
        return true;
    }

    @Override
    public ParcelFileDescriptor openFile(Uri uri, String mode) throws FileNotFoundException {
        if (!"r".equals(mode)) {
            throw new SecurityException("A shared file can only be read.");
        }
        return ParcelFileDescriptor.open(file(uri), ParcelFileDescriptor.MODE_READ_ONLY);
    }

    @Override
    public Cursor query(
            Uri uri, String[] projection, String selection, String[] args, String sortOrder) {
        String[] asked =
                projection != null
                        ? projection
                        : new String[] {OpenableColumns.DISPLAY_NAME, OpenableColumns.SIZE};
        MatrixCursor answer = new MatrixCursor(asked, 1);
        File file;
        try {
            file = file(uri);
        } catch (FileNotFoundException error) {
            return answer;
        }
        Object[] row = new Object[asked.length];
        for (int column = 0; column < asked.length; column++) {
            if (OpenableColumns.DISPLAY_NAME.equals(asked[column])) {
                row[column] = file.getName();
            } else if (OpenableColumns.SIZE.equals(asked[column])) {
                row[column] = file.length();
            }
        }
        answer.addRow(row);
        return answer;
    }

    @Override
    public String getType(Uri uri) {
        String name = String.valueOf(uri.getLastPathSegment());
        return name.endsWith(".pdf") ? "application/pdf" : "application/octet-stream";
    }

    @Override
    public Uri insert(Uri uri, ContentValues values) {
        throw new UnsupportedOperationException();
    }

    @Override
    public int update(Uri uri, ContentValues values, String selection, String[] args) {
        throw new UnsupportedOperationException();
    }

    @Override
    public int delete(Uri uri, String selection, String[] args) {
        throw new UnsupportedOperationException();
    }

    /** Returns the file that is meant; a name that leads out of the folder names none. */
    private File file(Uri uri) throws FileNotFoundException {
        try {
            File folder = new File(getContext().getFilesDir(), FOLDER).getCanonicalFile();
            File file = new File(folder, String.valueOf(uri.getLastPathSegment())).getCanonicalFile();
            if (folder.equals(file.getParentFile()) && file.isFile()) {
                return file;
            }
        } catch (IOException error) {
            throw new FileNotFoundException(uri.toString());
        }
        throw new FileNotFoundException(uri.toString());
    }
}
