package android.os;

public class ParcelFileDescriptor {
    public int detachFd() {
        return -1;
    }
}
