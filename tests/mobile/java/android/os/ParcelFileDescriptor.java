package android.os;

import java.io.File;
import java.io.FileDescriptor;
import java.io.FileNotFoundException;
import java.io.RandomAccessFile;
import java.lang.reflect.Field;

/** A file that is really open: its number is the one that the system gave. */
public class ParcelFileDescriptor {
    public static final int MODE_READ_ONLY = 268435456;

    private final RandomAccessFile file;

    private ParcelFileDescriptor(RandomAccessFile file) {
        this.file = file;
    }

    public static ParcelFileDescriptor open(File file, int mode) throws FileNotFoundException {
        String how = mode == MODE_READ_ONLY ? "r" : "rw";
        return new ParcelFileDescriptor(new RandomAccessFile(file, how));
    }

    public int detachFd() {
        try {
            FileDescriptor open = file.getFD();
            Field number = FileDescriptor.class.getDeclaredField("fd");
            number.setAccessible(true);
            int detached = number.getInt(open);
            number.setInt(open, -1); // Java no longer closes it
            return detached;
        } catch (ReflectiveOperationException | java.io.IOException error) {
            throw new IllegalStateException(error);
        }
    }
}
